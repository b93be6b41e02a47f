"""The second dog's mat beside a session: the one that runs, and those that could be begun."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID, uuid4

from pupilage.core.access import Actor
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.fold import fold_session
from pupilage.services.read_live_session import Around, LiveSession, foods_of, live_session_of, read_live_session
from pupilage.services.start_beside import MatStart, find_mat_start, list_second_dogs
from pupilage.storage.queries.sessions import find_session_beside

NOWHERE = UUID(int=0)

N_MATS = 8
"""Sessions of a mat for which a phone takes the list of pays along. No dog lies beside more sessions in a day."""


@dataclass(frozen=True)
class SecondStart:
    """A mat that could be begun, as it would stand; ids: sessions not begun yet, since the pays are drawn by them.

    by_step: for a dog of which nothing was tried yet, how its mat would stand at each step that it may do already.
    """

    live: LiveSession
    ids: tuple[UUID, ...]
    by_step: Mapping[str, LiveSession] = field(default_factory=dict)


def read_beside(actor: Actor, session_id: UUID, *, now: datetime) -> LiveSession | None:
    """Return the mat beside a session, None without one. Who may: whoever may read."""
    found = find_session_beside(actor, session_id)
    return None if found is None else read_live_session(actor, found.id, now=now)


def list_second_starts(actor: Actor, programme_id: UUID, *, now: datetime) -> list[SecondStart]:
    """Return, for each dog that can lie on a mat beside this stay's pup, its mat as it would begin now."""
    found = []
    for dog in list_second_dogs(actor, programme_id, now=now):
        mat = find_mat_start(actor, dog, now=now)
        if mat is not None:
            asked = [step.key for step in mat.behaviour.steps] if mat.asks else []
            by_step = {key: _begun(actor, mat, key, now) for key in asked}
            ids = tuple(uuid4() for _ in range(N_MATS))
            found.append(SecondStart(by_step.get(mat.step) or _begun(actor, mat, mat.step, now), ids, by_step))
    return found


def _begun(actor: Actor, mat: MatStart, step: str, now: datetime) -> LiveSession:
    payload = {"programme": str(mat.programme.id), "behaviour": mat.behaviour.key, "step": step, "beside": str(NOWHERE)}
    start = Event(str(NOWHERE), str(NOWHERE), 0, str(NOWHERE), EventKind.SESSION_STARTED, now, 0, payload)
    record = fold_session([start])
    assert record is not None  # noqa: S101  it has its start
    around = Around(mat.programme.id, mat.programme.dog.name, mat.known, mat.target, mat.days_left, foods_of(actor))
    return live_session_of(record, mat.behaviour, around, now=now)
