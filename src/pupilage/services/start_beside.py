"""Starting the mat of a second dog beside a session that runs."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import SessionKind
from pupilage.services.know_dog import know_dog
from pupilage.services.open_practice import find_practice, open_practice
from pupilage.services.read_programme import frame_of
from pupilage.services.record_events import Status, record_events
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, Programme
from pupilage.storage.queries.dogs import dog_writable_by, dogs_readable_by
from pupilage.storage.queries.programmes import find_target, list_goals
from pupilage.storage.queries.sessions import find_last_step, find_session_beside, session_readable_by

MATS = ("settle-on-mat", "stay")
"""What a dog can do on its mat, the usual first: a hold on the lead or in the crate is none."""


@dataclass(frozen=True)
class MatStart:
    """Where a dog's mat would begin now, and what that rests on.

    asks: nothing of it was tried yet, so that whoever trains says which step the dog does already. step is then what
    was said last, else the first.
    """

    programme: Programme
    behaviour: Behaviour
    known: Knowledge
    target: str | None
    days_left: int
    step: str
    asks: bool


def list_second_dogs(actor: Actor, programme_id: UUID, *, now: datetime) -> list[Dog]:
    """Return the dogs that can lie on a mat beside a stay's pup: those that live there, and pups whose stay runs."""
    today = local_day(now, actor.zone)
    rows = dogs_readable_by(actor).exclude(programmes__id=programme_id)
    running = {"programmes__arrival_on__lte": today, "programmes__handover_on__gte": today}
    return list((rows.filter(is_resident=True) | rows.filter(**running)).distinct())


def mat_of(programme: Programme) -> Behaviour:
    """Return the hold that a dog practises on its mat: the weightiest of its goals that is one, else the usual."""
    key = next((goal.behaviour for goal in list_goals(programme) if goal.behaviour in MATS), MATS[0])
    return load_catalogue().behaviours[key]


def find_mat_start(actor: Actor, dog: Dog, *, now: datetime) -> MatStart | None:
    """Return where a dog's mat would begin, None for a pup without a stay. Who may: whoever may read."""
    programme = find_practice(actor, dog, now=now)
    if programme is None:
        return None
    behaviour, known = mat_of(programme), know_dog(actor, programme)
    target, days_left = find_target(programme, behaviour.key), frame_of(actor, programme).days_left(now)
    step, asks = current_step(behaviour, known, now=now, target=target, days_left=days_left), False
    if not known.of(behaviour.key):
        said, asks = find_last_step(programme, behaviour.key), True
        step = said if said and behaviour.step(said) else step
    return MatStart(programme, behaviour, known, target, days_left, step, asks)


def start_beside(
    actor: Actor,
    session_id: UUID,
    dog_id: UUID,
    *,
    can: str = "",
    device_id: UUID,
    tz_offset_min: int,
    now: datetime,
) -> UUID:
    """Write the event that starts a second dog's mat beside a session; return the id of the mat's own session.

    The dog's holds count in its own stay or practice. can: the step that a dog without a record does already, as
    whoever trains says; not asked of others. Who may: whoever may write. Idempotent: a session has one mat.
    Raises InvalidInput for the dog of the session itself and for a step that is none, NotFound for an unknown dog.
    """
    row, dog = session_readable_by(actor, session_id), dog_writable_by(actor, dog_id)
    if row.programme.dog_id == dog.id:
        raise InvalidInput.of("beside", "{dog} is the dog that is worked; choose another for the mat.", dog=dog.name)
    found = find_session_beside(actor, session_id)
    if found is not None:
        return found.id
    open_practice(actor, dog, now=now)
    mat = find_mat_start(actor, dog, now=now)
    assert mat is not None  # noqa: S101  it has just been opened
    own_id = uuid4()
    payload = {
        "programme": str(mat.programme.id),
        "behaviour": mat.behaviour.key,
        "step": can if mat.asks and can else mat.step,
        "kind": SessionKind.TRAINING.value,
        "reinforcer": row.reinforcer,
        "pieces": None,
        "cold": False,
        "beside": str(session_id),
    }
    start = Event(str(uuid4()), str(device_id), 0, str(own_id), EventKind.SESSION_STARTED, now, tz_offset_min, payload)
    (verdict,) = record_events(actor, [start], now=now)
    if verdict.status is not Status.STORED:
        raise InvalidInput.of("beside", str(verdict.reason))
    return own_id
