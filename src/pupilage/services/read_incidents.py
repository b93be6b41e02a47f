"""What the record says of a dog's incidents, one unwanted behaviour at a time."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.core.incidents.answers import Answers, answer
from pupilage.core.incidents.context import Context, context_of
from pupilage.core.incidents.lasting import read_lasting
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.since import Since
from pupilage.core.incidents.stretches import Stretch, holds
from pupilage.core.incidents.two_dogs import BEHAVIOURS as BETWEEN_BEHAVIOURS
from pupilage.core.incidents.two_dogs import TwoDogs, answer_two_dogs, is_between
from pupilage.core.incidents.waking import LASTING_BEFORE, free_time, moments_since, present_time
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, TrainingSession
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.incidents import list_incidents, list_places

JUST_BEFORE = timedelta(minutes=15)
EVER = datetime(1970, 1, 1, tzinfo=UTC)
DAY = timedelta(days=1)


@dataclass(frozen=True)
class IncidentsPage:
    """A dog's incidents. counts: by behaviour, the commonest first; chosen: whose answers these are, "" with none.

    residents: the dogs of the house; two_dogs: where the chosen behaviour is one between dogs.
    """

    dog_id: UUID
    dog: str
    counts: Mapping[str, int]
    chosen: str
    answers: Answers | None
    incidents: tuple[Incident, ...]
    residents: tuple[str, ...] = ()
    two_dogs: TwoDogs | None = None


@dataclass(frozen=True)
class TwoDogsPage:
    """The pup and the dogs of the house: what the record says, and the incidents between them, the newest first."""

    dog_id: UUID
    dog: str
    residents: tuple[str, ...]
    answers: TwoDogs
    incidents: tuple[Incident, ...]


@dataclass(frozen=True)
class Moment:
    """What the log knows of a moment. context: minutes since each thing; before: what was there, to be ticked already.

    places: where incidents were before, the newest first.
    """

    context: Context
    before: tuple[Before, ...]
    places: tuple[str, ...]


def read_incidents(actor: Actor, dog_id: UUID, *, behaviour: str = "", now: datetime) -> IncidentsPage:
    """Return the answers for one behaviour, the commonest where none is asked for. Who may: whoever may read.

    Raises NotFound for an unknown dog, or a behaviour neither in the catalogue nor written down. Six queries.
    """
    dog = dog_readable_by(actor, dog_id)
    incidents = list_incidents(dog)
    counts = _counts(incidents)
    if behaviour and behaviour not in counts and not _is_known(behaviour):
        raise NotFound("There is no such unwanted behaviour; choose one from the list.")
    chosen = behaviour or next(iter(counts), "")
    own = tuple(incident for incident in incidents if incident.behaviour == chosen)
    residents = _residents(dog)
    if not chosen:
        return IncidentsPage(dog.id, dog.name, counts, "", None, (), residents)
    log = _exposure(actor, dog, now)
    never = () if residents else (Before.RESIDENT_NEAR,)
    answers = answer(own, free=log.free, present=log.present, moments=log.moments, zone=actor.zone, never=never)
    asked = chosen in BETWEEN_BEHAVIOURS or any(is_between(one) for one in own)
    two_dogs = answer_two_dogs(incidents, free=log.free, present=log.present) if asked else None
    return IncidentsPage(dog.id, dog.name, counts, chosen, answers, own, residents, two_dogs)


def _is_known(behaviour: str) -> bool:
    """Return whether the catalogue has it: as unwanted, or as one that a timed stretch may pay."""
    catalogue = load_catalogue()
    return catalogue.find_unwanted(behaviour) is not None or catalogue.find_behaviour(behaviour) is not None


def read_two_dogs(actor: Actor, dog_id: UUID, *, now: datetime) -> TwoDogsPage:
    """Return what the record says of the pup and the dog of the house. Who may: whoever may read.

    Raises NotFound for an unknown dog. Six queries.
    """
    dog = dog_readable_by(actor, dog_id)
    incidents = list_incidents(dog)
    log = _exposure(actor, dog, now)
    return TwoDogsPage(
        dog.id,
        dog.name,
        _residents(dog),
        answer_two_dogs(incidents, free=log.free, present=log.present),
        tuple(one for one in incidents if is_between(one)),
    )


@dataclass(frozen=True)
class _Exposure:
    """The free time, when each antecedent was there, and the moments that minutes are counted from, up to now."""

    free: list[Stretch]
    present: dict[Before, list[Stretch]]
    moments: dict[Since, list[datetime]]


def _exposure(actor: Actor, dog: Dog, now: datetime) -> _Exposure:
    events = list_care_events(dog, since=EVER, until=now)
    ends = _session_ends(actor, dog)
    return _Exposure(free_time(events, actor.zone), present_time(events, ends, actor.zone), moments_since(events))


def _residents(dog: Dog) -> tuple[str, ...]:
    rows = Dog.objects.filter(workspace_id=dog.workspace_id, household_id=dog.household_id, is_resident=True)
    return tuple(rows.exclude(id=dog.id).order_by("name").values_list("name", flat=True))


def read_incident_record(actor: Actor, dog_id: UUID) -> list[Incident]:
    """Return every incident of a dog that stands, the oldest first, for a sheet. Who may: whoever may read."""
    return list_incidents(dog_readable_by(actor, dog_id))[::-1]


def _counts(incidents: list[Incident]) -> dict[str, int]:
    """Return how often each behaviour happened, the commonest first; one that was only left counts 0."""
    happened = Counter(incident.behaviour for incident in incidents if incident.happened)
    keys = dict.fromkeys(incident.behaviour for incident in incidents)
    return {key: happened[key] for key in sorted(keys, key=lambda key: -happened[key])}


def read_moment(actor: Actor, dog_id: UUID, *, at: datetime) -> Moment:
    """Return what the log knows of a moment, so that nobody has to write it. Who may: whoever may read."""
    dog = dog_readable_by(actor, dog_id)
    events = list_care_events(dog, since=at - DAY, until=at + timedelta(seconds=1))
    ends = [end for end in _session_ends(actor, dog) if end <= at]
    present = present_time(events, ends, actor.zone)
    lasting = {LASTING_BEFORE[run.kind] for run in read_lasting(events, actor.zone).running(at)}
    ticked = [before for before in Before if before in lasting or holds(present.get(before, []), at)]
    return Moment(context_of(events, ends, at), tuple(ticked), tuple(list_places(dog)))


def context_at(actor: Actor, dog: Dog, at: datetime) -> Context:
    """Return what the log knows of a moment of a dog that is at hand. Two queries."""
    events = list_care_events(dog, since=at - DAY, until=at + timedelta(seconds=1))
    return context_of(events, _session_ends(actor, dog), at)


def _session_ends(actor: Actor, dog: Dog) -> list[datetime]:
    ends = TrainingSession.objects.filter(workspace_id=actor.workspace_id, programme__dog=dog)
    return [end for end in ends.values_list("ended_at", flat=True) if end is not None]
