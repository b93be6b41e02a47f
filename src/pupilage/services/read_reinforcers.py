"""What works for a pup: its reinforcers, and with which to begin a session."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.training.criterion.standing import practised_step
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.rewards.latencies import Latency, expect_latency, times_of
from pupilage.core.training.rewards.reinforcer_choice import ReinforcerChoice, choose_reinforcer
from pupilage.core.training.rewards.reinforcers import Comparison
from pupilage.services.compare_reinforcers import compare_reinforcers
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.dogs import dog_readable_by, list_reinforcers
from pupilage.storage.queries.food import reward_of
from pupilage.storage.queries.programmes import programme_readable_by, programmes_readable_by


@dataclass(frozen=True)
class BehaviourLatency:
    """How long the pup usually takes from cue to behaviour, at the step that was practised last."""

    behaviour: str
    name: str
    step: str
    latency: Latency


@dataclass(frozen=True)
class WhatWorks:
    """The reinforcers of a stay's pup compared, and its latencies where any were taken."""

    head: ProgrammeHead
    comparison: Comparison
    latencies: tuple[BehaviourLatency, ...]


def read_reinforcers(actor: Actor, programme_id: UUID, *, now: datetime) -> WhatWorks:
    """Return what works for a stay's pup. Who may: whoever may read. Raises NotFound."""
    return _what_works(actor, programme_readable_by(actor, programme_id), now)


def find_what_works(actor: Actor, dog_id: UUID, *, now: datetime) -> WhatWorks | None:
    """Return what works for a dog in its newest stay, None before the first. Raises NotFound as above."""
    dog_readable_by(actor, dog_id)
    programme = programmes_readable_by(actor).filter(dog_id=dog_id).first()
    return None if programme is None else _what_works(actor, programme, now)


def _what_works(actor: Actor, programme: Programme, now: datetime) -> WhatWorks:
    return WhatWorks(
        head=head_of(actor, programme, now=now),
        comparison=compare_reinforcers(actor, programme).comparison,
        latencies=tuple(_latencies(actor, programme)),
    )


def _latencies(actor: Actor, programme: Programme) -> list[BehaviourLatency]:
    known = know_dog(actor, programme)
    found = []
    for behaviour in known.behaviours.values():
        history = known.of(behaviour.key)
        step = behaviour.step(practised_step(behaviour, history) or "")
        times = times_of(step, history) if step is not None else None
        if step is not None and times is not None and times.latencies_s:
            found.append(BehaviourLatency(behaviour.key, behaviour.name, step.summary, expect_latency(times)))
    return found


def choose_for_session(
    actor: Actor, programme_id: UUID, behaviour_key: str, step_key: str, *, now: datetime
) -> ReinforcerChoice | None:
    """Return with which reinforcer to begin a session at a step. Who may: whoever may read. Raises NotFound.

    None for a behaviour or a step that the catalogue does not have.
    """
    programme = programme_readable_by(actor, programme_id)
    behaviour = load_catalogue().find_behaviour(behaviour_key)
    place = None if behaviour is None else behaviour.step_index(step_key)
    if behaviour is None or place is None:
        return None
    known = know_dog(actor, programme)
    record = compare_reinforcers(actor, programme)
    before = [name for trial in known.of(behaviour.key) if (name := record.names.get(trial.event_id))]
    return choose_reinforcer(
        read_step(known.at(behaviour.key, now), place).mean,
        record.comparison,
        [one.name for one in list_reinforcers(actor) if not reward_of(one).unsafe],
        habit=before[-1] if before else None,
    )
