"""What the Today page shows: what is due, the next outing, the ration left, decisions that wait, tomorrow."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from django.db.models import FilteredRelation, Q

from pupilage.core.access import Actor
from pupilage.core.clock import day_bounds
from pupilage.core.planning.proposal import Proposal, propose_sessions
from pupilage.core.planning.standing import Standing
from pupilage.core.training.criterion.advice import Action
from pupilage.services.know_dog import know_dog
from pupilage.services.read_care_panel import CarePanel, care_panel_of
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
from pupilage.storage.models import Dog

N_PROPOSALS = 3
PROBE_DAYS = 2
N_VET_DATES = 3
NEWEST_SESSIONS = 40
"""More than fit into a day: today's sessions and one left open are among them."""


@dataclass(frozen=True)
class Today:
    """The Today page. probes: behaviours whose cold baseline is still due in the first two days.

    open_session: the newest of the last sessions that has not been ended.
    """

    head: ProgrammeHead
    panel: CarePanel
    proposals: tuple[Proposal, ...]
    tomorrow: tuple[Proposal, ...]
    waiting: tuple[Standing, ...]
    probes: tuple[Standing, ...]
    standings: tuple[Standing, ...]
    sessions: tuple[SessionLine, ...]
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
    panel = care_panel_of(actor, programme.dog, rows_today, programme, now=now)
    vet_dates, residents = _margin(programme.dog, today)
    states = [standing.state for standing in standings]
    rested = [replace(state, n_sessions_today=0) for state in states]
    return Today(
        head=head_of(actor, programme, now=now),
        panel=panel,
        proposals=tuple(propose_sessions(states, now=now, limit=N_PROPOSALS)),
        tomorrow=tuple(propose_sessions(rested, now=end, limit=programme.sessions_a_day)),
        waiting=tuple(s for s in standings if s.decision.action in {Action.RAISE, Action.LOWER}),
        probes=tuple(_probes_due(standings, frame_of(actor, programme).day_number(now))),
        standings=tuple(standings),
        sessions=tuple(session_lines(rows_today, known.trials)),
        vet_dates=vet_dates,
        residents=residents,
        open_session=next((row.id for row in rows if row.ended_at is None), None),
    )


def _probes_due(standings: list[Standing], day_number: int) -> list[Standing]:
    if not 1 <= day_number <= PROBE_DAYS:
        return []
    return [s for s in standings if s.baseline is None and s.n_sessions == 0]


def _margin(dog: Dog, today: date) -> tuple[tuple[tuple[date, str], ...], tuple[str, ...]]:
    """Return the pup's next dates with the veterinarian and the names of the dogs that live there. One query."""
    coming = FilteredRelation("vet_dates", condition=Q(vet_dates__on__gte=today))
    dogs = Dog.objects.filter(Q(id=dog.id) | Q(is_resident=True), household_id=dog.household_id)
    rows = dogs.annotate(coming=coming).values_list("id", "name", "coming__on", "coming__what")
    found = list(rows.order_by("name", "coming__on"))
    vet_dates = [(on, what) for dog_id, _, on, what in found if dog_id == dog.id and on is not None]
    residents = dict.fromkeys(name for dog_id, name, _, _ in found if dog_id != dog.id)
    return tuple(vet_dates[:N_VET_DATES]), tuple(residents)
