"""What the Today page shows: what is due, the next outing, the ration left, decisions that wait, tomorrow."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.confinement import Outing
from pupilage.core.care.events import CareEvent
from pupilage.core.care.food.ration import RunningTotal
from pupilage.core.clock import day_bounds
from pupilage.core.planning.proposal import Proposal, propose_sessions
from pupilage.core.planning.standing import Standing
from pupilage.core.training.criterion.advice import Action
from pupilage.services.know_dog import know_dog
from pupilage.services.read_care_panel import care_panel_of
from pupilage.services.read_programme import (
    ProgrammeHead,
    SessionLine,
    find_current,
    frame_of,
    head_of,
    list_session_rows,
    session_lines,
    standings_of,
)
from pupilage.storage.models import Dog, Programme

N_PROPOSALS = 3
PROBE_DAYS = 2
NEWEST_SESSIONS = 40
"""More than fit into a day: today's sessions and one left open are among them."""


@dataclass(frozen=True)
class Today:
    """The Today page. probes: behaviours whose cold baseline is still due in the first two days.

    open_session: the newest of the last sessions that has not been ended.
    """

    head: ProgrammeHead
    outing: Outing
    ration: RunningTotal | None
    proposals: tuple[Proposal, ...]
    tomorrow: tuple[Proposal, ...]
    waiting: tuple[Standing, ...]
    probes: tuple[Standing, ...]
    standings: tuple[Standing, ...]
    sessions: tuple[SessionLine, ...]
    care: tuple[CareEvent, ...]
    vet_dates: tuple[tuple[date, str], ...]
    residents: tuple[str, ...]
    open_session: UUID | None


def read_today(actor: Actor, *, now: datetime) -> Today | None:
    """Return the Today page, or None while there is no programme. Who may: whoever may read.

    Eight queries, whatever the number of goals and trials (tests/web/test_today_budget.py).
    """
    programme = find_current(actor, now=now)
    if programme is None:
        return None
    today = now.astimezone(actor.zone).date()
    start, end = day_bounds(today, actor.zone)
    known = know_dog(actor, programme)
    standings = standings_of(actor, programme, known, now=now, compare=False)
    rows = list_session_rows(actor, programme, limit=NEWEST_SESSIONS)
    rows_today = [row for row in rows if row.started_at >= start]
    panel = care_panel_of(actor, programme.dog, rows_today, risk=programme.outing_risk, now=now)
    states = [standing.state for standing in standings]
    rested = [replace(state, n_sessions_today=0) for state in states]
    return Today(
        head=head_of(actor, programme, now=now),
        outing=panel.outing,
        ration=panel.ration,
        proposals=tuple(propose_sessions(states, now=now, limit=N_PROPOSALS)),
        tomorrow=tuple(propose_sessions(rested, now=end, limit=programme.sessions_a_day)),
        waiting=tuple(s for s in standings if s.decision.action in {Action.RAISE, Action.LOWER}),
        probes=tuple(_probes_due(standings, frame_of(actor, programme).day_number(now))),
        standings=tuple(standings),
        sessions=tuple(session_lines(rows_today, known.trials)),
        care=panel.care,
        vet_dates=tuple(_vet_dates(programme.dog, today)),
        residents=tuple(_residents(programme)),
        open_session=next((row.id for row in rows if row.ended_at is None), None),
    )


def _probes_due(standings: list[Standing], day_number: int) -> list[Standing]:
    if not 1 <= day_number <= PROBE_DAYS:
        return []
    return [s for s in standings if s.baseline is None and s.n_sessions == 0]


def _vet_dates(dog: Dog, today: date) -> list[tuple[date, str]]:
    return [(row.on, row.what) for row in dog.vet_dates.filter(on__gte=today).order_by("on")[:3]]


def _residents(programme: Programme) -> list[str]:
    dogs = Dog.objects.filter(household_id=programme.dog.household_id, is_resident=True)
    return list(dogs.order_by("name").values_list("name", flat=True))
