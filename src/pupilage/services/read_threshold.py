"""What a pup can bear of one behaviour along each dimension, and the most useful next try."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour, Step
from pupilage.core.errors import NotFound
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.record.history import require_step
from pupilage.core.training.thresholds.threshold_map import ThresholdMap, map_thresholds
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import ProgrammeHead, frame_of, head_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.programmes import list_goals, programme_readable_by


@dataclass(frozen=True)
class ThresholdPage:
    """The map of one behaviour at a step: `target` is the goal's, or the catalogue's where it is no goal."""

    head: ProgrammeHead
    behaviour: Behaviour
    step: Step
    target: Step
    map: ThresholdMap


def read_threshold(
    actor: Actor, programme_id: UUID, behaviour: str, *, step: str | None = None, now: datetime
) -> ThresholdPage:
    """Return the threshold map of a behaviour, at the step to practise next unless another is given.

    Who may: whoever may read. Raises NotFound; InvalidInput for a step that the behaviour does not have.
    """
    programme = programme_readable_by(actor, programme_id)
    found = load_catalogue().find_behaviour(behaviour)
    if found is None:
        raise NotFound("“{key}” is not in the catalogue; `pupilage catalogue` lists what is.", key=behaviour)
    known = know_dog(actor, programme)
    target = next((goal.step for goal in list_goals(programme) if goal.behaviour == behaviour), found.target)
    target = target if found.step(target) is not None else found.target
    days = frame_of(actor, programme).days_left(now)
    at = current_step(found, known, now=now, target=target, days_left=days) if step is None else step
    return ThresholdPage(
        head=head_of(actor, programme, now=now),
        behaviour=found,
        step=require_step(found, at),
        target=require_step(found, target),
        map=map_thresholds(known, found, at, target=target, now=now),
    )
