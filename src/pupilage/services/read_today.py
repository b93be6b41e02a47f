"""What the Today page shows: what is due, the next outing, the ration left, decisions that wait, tomorrow."""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.confinement import Outing, next_outing
from pupilage.core.care.events import CareEvent, CareKind
from pupilage.core.care.ration import ration_left
from pupilage.core.clock import day_bounds
from pupilage.core.planning.proposal import Proposal, propose_sessions
from pupilage.core.planning.standing import Standing
from pupilage.core.training.decision import Action
from pupilage.core.training.evidence import Trial
from pupilage.services.read_live_session import find_open_session
from pupilage.services.read_programme import (
    ProgrammeHead,
    SessionLine,
    find_current,
    frame_of,
    head_of,
    list_sessions,
    standings_of,
)
from pupilage.storage.models import Dog, Programme, TrainingSession
from pupilage.storage.queries.dogs import list_care_events, list_reinforcers
from pupilage.storage.queries.sessions import list_trials

N_PROPOSALS = 3
PROBE_DAYS = 2


@dataclass(frozen=True)
class Ration:
    """The day's food in grams; left may be negative. None when no daily ration is entered."""

    daily_g: float
    left_g: float


@dataclass(frozen=True)
class Today:
    """The Today page. probes: behaviours whose cold baseline is still due in the first two days."""

    head: ProgrammeHead
    outing: Outing
    ration: Ration | None
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
    """Return the Today page, or None while there is no programme. Who may: whoever may read."""
    programme = find_current(actor, now=now)
    if programme is None:
        return None
    today = now.astimezone(actor.zone).date()
    start, end = day_bounds(today, actor.zone)
    trials = list_trials(programme)
    standings = standings_of(actor, programme, trials, now=now)
    care = list_care_events(programme.dog, since=start - timedelta(days=1), until=end)
    frame = frame_of(actor, programme)
    states = [standing.state for standing in standings]
    rested = [replace(state, n_sessions_today=0) for state in states]
    return Today(
        head=head_of(actor, programme, now=now),
        outing=next_outing(care, born_on=frame.born_on, zone=actor.zone, now=now),
        ration=_ration(actor, programme.dog, care, start),
        proposals=tuple(propose_sessions(states, now=now, limit=N_PROPOSALS)),
        tomorrow=tuple(propose_sessions(rested, now=end, limit=programme.sessions_a_day)),
        waiting=tuple(s for s in standings if s.decision.action in {Action.RAISE, Action.LOWER}),
        probes=tuple(_probes_due(standings, frame.day_number(now))),
        standings=tuple(standings),
        sessions=tuple(_sessions_today(actor, programme, trials, start)),
        care=tuple(event for event in care if event.at >= start),
        vet_dates=tuple(_vet_dates(programme.dog, today)),
        residents=tuple(_residents(programme)),
        open_session=find_open_session(actor, programme.id),
    )


def _probes_due(standings: list[Standing], day_number: int) -> list[Standing]:
    if not 1 <= day_number <= PROBE_DAYS:
        return []
    return [s for s in standings if s.baseline is None and s.n_sessions == 0]


def _sessions_today(actor: Actor, programme: Programme, trials: list[Trial], start: datetime) -> list[SessionLine]:
    return [line for line in list_sessions(actor, programme, trials, limit=12) if line.started_at >= start]


def _vet_dates(dog: Dog, today: date) -> list[tuple[date, str]]:
    return [(row.on, row.what) for row in dog.vet_dates.filter(on__gte=today).order_by("on")[:3]]


def _residents(programme: Programme) -> list[str]:
    dogs = Dog.objects.filter(household_id=programme.dog.household_id, is_resident=True)
    return list(dogs.order_by("name").values_list("name", flat=True))


def _ration(actor: Actor, dog: Dog, care: list[CareEvent], start: datetime) -> Ration | None:
    if dog.daily_food_g is None:
        return None
    meals = [e.amount_g or 0.0 for e in care if e.kind is CareKind.MEAL and e.at >= start]
    pieces = _ration_pieces(actor, dog, start)
    return Ration(dog.daily_food_g, ration_left(dog.daily_food_g, meals_g=meals, pieces=pieces))


def _ration_pieces(actor: Actor, dog: Dog, start: datetime) -> list[tuple[float, int]]:
    """Return (grams a piece, pieces) of what was given today out of the weighed ration."""
    grams = {r.name: r.piece_g for r in list_reinforcers(actor) if r.from_ration}
    sessions = TrainingSession.objects.filter(
        workspace_id=actor.workspace_id, programme__dog=dog, started_at__gte=start
    )
    return [(grams[name], n) for name, n in sessions.values_list("reinforcer", "pieces_given") if name in grams]
