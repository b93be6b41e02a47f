"""What a phone takes along for the day: the plan, steps in words, where each session would begin, decision tables."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from hashlib import sha256
from uuid import UUID, uuid4

from pupilage import __version__
from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour, Scoring
from pupilage.core.planning.proposal import Proposal, propose_sessions
from pupilage.core.planning.standing import Standing
from pupilage.core.training.criterion.decision import Decision
from pupilage.core.training.criterion.session_table import make_session_table
from pupilage.core.training.criterion.tables import Start
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.fold import fold_session
from pupilage.core.training.rewards.paying import PayPlan
from pupilage.services.know_dog import know_dog
from pupilage.services.read_beside import SecondStart, list_second_starts
from pupilage.services.read_live_session import Around, LiveSession, foods_of, live_session_of
from pupilage.services.read_owner import read_owner
from pupilage.services.read_programme import find_current, frame_of, standings_of
from pupilage.services.start_beside import list_second_dogs
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.dogs import list_reinforcers
from pupilage.storage.queries.programmes import list_goals, log_mark_of

N_PROPOSALS = 3
N_PAID = 2
"""Sessions of one step for which the phone has a list of what is paid: no behaviour is trained more often in a day."""

LIKELY_ROWS, OTHER_ROWS = 160, 80
"""Rows of the decision tables: of behaviours that are proposed for the day, and of the others."""

NOWHERE = UUID(int=0)


@dataclass(frozen=True)
class PhoneBehaviour:
    """A goal's behaviour on the phone.

    step: where practice is; starts: by step, the session as it would begin now; tables: by step, the decisions after
    the first tries; pays: by step, a session's id and what would be paid in it, where not every response is.
    """

    behaviour: Behaviour
    step: str
    starts: Mapping[str, LiveSession]
    tables: Mapping[str, Mapping[str, Decision]]
    pays: Mapping[str, tuple[tuple[UUID, PayPlan], ...]]


@dataclass(frozen=True)
class PhoneStay:
    """One stay on the phone. reinforcers: their names, the usual one first; foods: those of them that are weighed.

    seconds: the mats of other dogs that could be begun beside a session.
    """

    programme_id: UUID
    dog: str
    proposals: tuple[Proposal, ...]
    behaviours: tuple[PhoneBehaviour, ...]
    reinforcers: tuple[str, ...]
    foods: frozenset[str]
    seconds: tuple[SecondStart, ...] = ()


@dataclass(frozen=True)
class PhoneDay:
    """What one person's phone takes along. stays: the one that runs today; none where nothing has begun."""

    owner: str
    day: date
    stays: tuple[PhoneStay, ...]


def find_phone_day_version(actor: Actor, *, now: datetime) -> str:
    """Return a word that changes whenever a phone should ask again. Cheap: nothing is estimated.

    It names the person, the log, the goals, the other dogs, the reinforcers, the catalogue's version and the hour: a
    decision drifts with time, and within an hour by nothing that a screen shows.
    """
    programme = find_current(actor, now=now)
    local = now.astimezone(actor.zone)
    facts: list[object] = [read_owner(actor), __version__, local.date(), local.hour]
    if programme is not None:
        facts += [
            programme.id,
            log_mark_of(actor, programme),
            *[(goal.behaviour, goal.step, goal.weight) for goal in list_goals(programme)],
        ]
        facts += [(dog.id, dog.name) for dog in list_second_dogs(actor, programme.id, now=now)]
        facts += [(r.name, r.piece_g) for r in list_reinforcers(actor)]
        facts += [sorted(load_catalogue().behaviours)]
    return sha256(repr(facts).encode()).hexdigest()[:24]


def read_phone_day(actor: Actor, *, now: datetime) -> PhoneDay:
    """Return what the phone needs of the day to go without this machine. Who may: whoever may read."""
    programme = find_current(actor, now=now)
    stays = () if programme is None else (_stay(actor, programme, now),)
    return PhoneDay(read_owner(actor), now.astimezone(actor.zone).date(), stays)


def _stay(actor: Actor, programme: Programme, now: datetime) -> PhoneStay:
    known = know_dog(actor, programme)
    standings = standings_of(actor, programme, known, now=now, compare=False)
    proposals = propose_sessions([standing.state for standing in standings], now=now, limit=N_PROPOSALS)
    seconds = tuple(list_second_starts(actor, programme.id, now=now))
    names = tuple(reinforcer.name for reinforcer in list_reinforcers(actor))
    foods, days = foods_of(actor), frame_of(actor, programme).days_left(now)
    behaviours = []
    for standing in standings:
        around = Around(programme.id, programme.dog.name, known, standing.target.key, days, foods)
        likely = any(one.behaviour_key == standing.behaviour.key for one in proposals)
        n_rows = LIKELY_ROWS if likely else OTHER_ROWS
        behaviours.append(_behaviour(standing, around, next(iter(sorted(foods)), ""), n_rows, now))
    return PhoneStay(programme.id, programme.dog.name, tuple(proposals), tuple(behaviours), names, foods, seconds)


def _behaviour(standing: Standing, around: Around, food: str, n_rows: int, now: datetime) -> PhoneBehaviour:
    behaviour = standing.behaviour
    starts = {step.key: _begun(behaviour, step.key, NOWHERE, food, around, now) for step in behaviour.steps}
    pays = {key: _paid(behaviour, key, food, around, now) for key, live in starts.items() if live.pay is not None}
    tables = {}
    if behaviour.scoring is not Scoring.HOLD:
        newest = [trial.at for trial in around.known.trials[-1:]]  # by a phone whose clock is ahead of this one
        start = max([now, *newest])
        begin = Start(str(NOWHERE), standing.step.key, start, None, around.target, around.days_left)
        tables[standing.step.key] = make_session_table(behaviour, around.known, begin, most_rows=n_rows)
    return PhoneBehaviour(behaviour, standing.step.key, starts, tables, pays)


def _paid(
    behaviour: Behaviour, step: str, food: str, around: Around, now: datetime
) -> tuple[tuple[UUID, PayPlan], ...]:
    """Return sessions not begun yet, each with its own list: what is paid is drawn by a session's id."""
    found = []
    for _ in range(N_PAID):
        session_id = uuid4()
        pay = _begun(behaviour, step, session_id, food, around, now).pay
        if pay is not None:
            found.append((session_id, pay))
    return tuple(found)


def _begun(behaviour: Behaviour, step: str, session_id: UUID, food: str, around: Around, now: datetime) -> LiveSession:
    """Return a session as its screen would show it before the first try."""
    payload = {"programme": str(around.programme_id), "behaviour": behaviour.key, "step": step, "reinforcer": food}
    start = Event(str(NOWHERE), str(NOWHERE), 0, str(session_id), EventKind.SESSION_STARTED, now, 0, payload)
    record = fold_session([start])
    assert record is not None  # noqa: S101  it has its start
    return live_session_of(record, behaviour, around, now=now)
