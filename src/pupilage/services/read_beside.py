"""The second dog's mat beside a session: the one that runs, and those that could be begun."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from pupilage.core.access import Actor
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.fold import fold_session
from pupilage.services.know_dog import know_dog
from pupilage.services.read_live_session import Around, LiveSession, foods_of, live_session_of, read_live_session
from pupilage.services.read_programme import frame_of
from pupilage.services.start_beside import list_second_dogs, mat_of
from pupilage.storage.models import Programme
from pupilage.storage.queries.programmes import find_programme_of, find_target
from pupilage.storage.queries.sessions import find_session_beside

NOWHERE = UUID(int=0)

N_MATS = 8
"""Sessions of a mat for which a phone takes the list of pays along. No dog lies beside more sessions in a day."""


@dataclass(frozen=True)
class SecondStart:
    """A mat that could be begun, as it would stand; ids: sessions not begun yet, since the pays are drawn by them."""

    live: LiveSession
    ids: tuple[UUID, ...]


def read_beside(actor: Actor, session_id: UUID, *, now: datetime) -> LiveSession | None:
    """Return the mat beside a session, None without one. Who may: whoever may read."""
    found = find_session_beside(actor, session_id)
    return None if found is None else read_live_session(actor, found.id, now=now)


def list_second_starts(actor: Actor, programme_id: UUID, *, now: datetime) -> list[SecondStart]:
    """Return, for each dog that has been on a mat here or has a stay, its mat as it would begin now."""
    found = []
    for dog in list_second_dogs(actor, programme_id, now=now):
        programme = find_programme_of(actor, dog.id)
        if programme is not None:
            ids = tuple(uuid4() for _ in range(N_MATS))
            found.append(SecondStart(_mat_start(actor, programme, now), ids))
    return found


def _mat_start(actor: Actor, programme: Programme, now: datetime) -> LiveSession:
    behaviour, known = mat_of(programme), know_dog(actor, programme)
    target, days = find_target(programme, behaviour.key), frame_of(actor, programme).days_left(now)
    step = current_step(behaviour, known, now=now, target=target, days_left=days)
    payload = {"programme": str(programme.id), "behaviour": behaviour.key, "step": step}
    start = Event(str(NOWHERE), str(NOWHERE), 0, str(NOWHERE), EventKind.SESSION_STARTED, now, 0, payload)
    record = fold_session([start])
    assert record is not None  # noqa: S101  it has its start
    around = Around(programme.id, programme.dog.name, known, target, days, foods_of(actor))
    return live_session_of(record, behaviour, around, now=now)
