"""What a session changed: the estimate before and after it, another one or not, and the second dog's part."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.clock import local_day
from pupilage.core.incidents.beside import MatSummary, summarise_mat
from pupilage.core.planning.again import Again, judge_again
from pupilage.core.training.criterion.holds import HoldTarget
from pupilage.core.training.criterion.watching import Watch, watch
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.training.record.fold import SessionRecord, fold_session
from pupilage.services.know_dog import know_dog
from pupilage.services.read_beside import read_beside
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import TrainingSession
from pupilage.storage.queries.sessions import list_events, session_readable_by, sessions_readable_by


@dataclass(frozen=True)
class Change:
    """The chance of the next try at a step, before the session and after it."""

    step: str
    before: float
    after: float


@dataclass(frozen=True)
class MatPart:
    """The second dog's part: whose, what it did, what to ask next."""

    session_id: UUID
    dog: str
    summary: MatSummary
    next_hold: HoldTarget | None


@dataclass(frozen=True)
class AfterSession:
    """change: None where it is not the dog's newest session, or a probe; again: only on the session's own day."""

    dog_id: UUID
    change: Change | None
    watches: tuple[Watch, ...]
    again: Again | None
    mat: MatPart | None


def read_after_session(actor: Actor, session_id: UUID, *, now: datetime) -> AfterSession:
    """Return what a session changed. Who may: whoever may read. Raises NotFound."""
    row = session_readable_by(actor, session_id)
    record = fold_session(list_events(actor, session_id))
    behaviour = load_catalogue().find_behaviour(row.behaviour)
    if record is None or behaviour is None:
        return AfterSession(row.programme.dog_id, None, (), None, _mat(actor, session_id, now))
    watches = tuple(watch(record.trials, record.seen, scoring=behaviour.scoring))
    ended = record.ended_at is not None and record.kind is SessionKind.TRAINING
    again = judge_again(_n_today(actor, row, now), watches) if ended and _is_of_today(actor, row, now) else None
    change, mat = _change(actor, row, record, now), _mat(actor, session_id, now)
    return AfterSession(row.programme.dog_id, change, watches, again, mat)


def _change(actor: Actor, row: TrainingSession, record: SessionRecord, now: datetime) -> Change | None:
    known = know_dog(actor, row.programme)
    behaviour = load_catalogue().find_behaviour(row.behaviour)
    place = None if behaviour is None else behaviour.step_index(record.step)
    newest = known.trials[-1:]
    if place is None or record.kind is SessionKind.PROBE or not newest or newest[0].session_id != str(row.id):
        return None
    n = known.n_before
    before = Knowledge(known.behaviours, known.trials[:n], known.before, n, known.before)
    means = [read_step(one.at(row.behaviour, now), place).mean for one in (before, known)]
    return Change(record.step, *means)


def _n_today(actor: Actor, row: TrainingSession, now: datetime) -> int:
    same = sessions_readable_by(actor).filter(programme=row.programme, behaviour=row.behaviour)
    times = same.filter(kind=SessionKind.TRAINING.value).values_list("started_at", flat=True)[:20]
    return sum(local_day(at, actor.zone) == local_day(now, actor.zone) for at in times)


def _is_of_today(actor: Actor, row: TrainingSession, now: datetime) -> bool:
    return local_day(row.started_at, actor.zone) == local_day(now, actor.zone)


def _mat(actor: Actor, session_id: UUID, now: datetime) -> MatPart | None:
    second = read_beside(actor, session_id, now=now)
    if second is None:
        return None
    return MatPart(second.id, second.dog, summarise_mat(second.record), second.next_hold)
