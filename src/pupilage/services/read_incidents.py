"""What the record says of a dog's incidents, one unwanted behaviour at a time."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.incidents.answers import Answers, answer
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import holds
from pupilage.core.incidents.waking import LASTING_KINDS, free_time, moments_since, present_time
from pupilage.storage.models import Dog, TrainingSession
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.incidents import list_incidents

JUST_BEFORE = timedelta(minutes=15)
EVER = datetime(1970, 1, 1, tzinfo=UTC)
DAY = timedelta(days=1)


@dataclass(frozen=True)
class IncidentsPage:
    """A dog's incidents. counts: by behaviour, the commonest first; chosen: whose answers these are, "" with none."""

    dog_id: UUID
    dog: str
    counts: Mapping[str, int]
    chosen: str
    answers: Answers | None
    incidents: tuple[Incident, ...]


@dataclass(frozen=True)
class Moment:
    """What the log knows of a moment: minutes since each thing, and what was there. `before`: to be ticked already."""

    minutes_since: Mapping[CareKind, int]
    before: tuple[Before, ...]


def read_incidents(actor: Actor, dog_id: UUID, *, behaviour: str = "", now: datetime) -> IncidentsPage:
    """Return the answers for one behaviour, the commonest where none is asked for. Who may: whoever may read.

    Raises NotFound for an unknown dog. Five queries.
    """
    dog = dog_readable_by(actor, dog_id)
    incidents = list_incidents(dog)
    counts = _counts(incidents)
    chosen = behaviour or next(iter(counts), "")
    own = tuple(incident for incident in incidents if incident.behaviour == chosen)
    if not chosen:
        return IncidentsPage(dog.id, dog.name, counts, "", None, ())
    events = list_care_events(dog, since=EVER, until=now)
    answers = answer(
        own,
        free=free_time(events, actor.zone),
        present=present_time(events, _session_ends(actor, dog), actor.zone),
        moments=moments_since(events),
        zone=actor.zone,
    )
    return IncidentsPage(dog.id, dog.name, counts, chosen, answers, own)


def _counts(incidents: list[Incident]) -> dict[str, int]:
    """Return how often each behaviour happened, the commonest first; one that was only left counts 0."""
    happened = Counter(incident.behaviour for incident in incidents if not incident.left_it)
    keys = dict.fromkeys(incident.behaviour for incident in incidents)
    return {key: happened[key] for key in sorted(keys, key=lambda key: -happened[key])}


def read_moment(actor: Actor, dog_id: UUID, *, at: datetime) -> Moment:
    """Return what the log knows of a moment, so that nobody has to write it. Who may: whoever may read."""
    dog = dog_readable_by(actor, dog_id)
    events = list_care_events(dog, since=at - DAY, until=at + timedelta(seconds=1))
    since = {kind: at - event.at for kind, event in _newest(events).items()}
    present = present_time(events, [end for end in _session_ends(actor, dog) if end <= at], actor.zone)
    lasting = {before for kind, before in LASTING_KINDS.items() if _is_open(events, kind)}
    ticked = [before for before in Before if before in lasting or holds(present.get(before, []), at)]
    return Moment({kind: int(gone / timedelta(minutes=1)) for kind, gone in since.items()}, tuple(ticked))


def _newest(events: list[CareEvent]) -> dict[CareKind, CareEvent]:
    """Return the newest waking, meal, outing and play."""
    wanted = {CareKind.NAP: CareDetail.END, CareKind.CRATE: CareDetail.END}
    return {
        event.kind: event
        for event in events
        if event.kind in (CareKind.MEAL, CareKind.OUTING, CareKind.PLAY) or wanted.get(event.kind) is event.detail
    }


def _is_open(events: list[CareEvent], kind: CareKind) -> bool:
    details = [event.detail for event in events if event.kind is kind]
    return bool(details) and details[-1] is CareDetail.START


def _session_ends(actor: Actor, dog: Dog) -> list[datetime]:
    ends = TrainingSession.objects.filter(workspace_id=actor.workspace_id, programme__dog=dog)
    return [end for end in ends.values_list("ended_at", flat=True) if end is not None]
