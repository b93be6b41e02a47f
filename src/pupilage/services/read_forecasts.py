"""The chance of every goal at the hand-over, and what would be left of a behaviour without practice."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.core.planning.standing import Standing
from pupilage.core.training.posterior.retention import Retention, forecast_without_practice
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import ProgrammeHead, head_of, standings_of
from pupilage.storage.queries.programmes import programme_readable_by


@dataclass(frozen=True)
class Forecasts:
    """The goals, and by behaviour what would be left at the step in practice without it; trained ones only."""

    head: ProgrammeHead
    standings: tuple[Standing, ...]
    retention: Mapping[str, Retention]


def read_forecasts(actor: Actor, programme_id: UUID, *, behaviour: str | None = None, now: datetime) -> Forecasts:
    """Return the forecasts of a programme's goals, or of one. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    known = know_dog(actor, programme)
    standings = standings_of(actor, programme, known, now=now, compare=True)
    if behaviour is not None:
        standings = [standing for standing in standings if standing.behaviour.key == behaviour]
        if not standings:
            raise NotFound("“{key}” is not among this programme's goals.", key=behaviour)
    return Forecasts(
        head=head_of(actor, programme, now=now),
        standings=tuple(standings),
        retention={
            s.behaviour.key: forecast_without_practice(
                known.state, s.behaviour.key, s.behaviour.step_index(s.step.key) or 0, now=now
            )
            for s in standings
            if s.n_trials
        },
    )
