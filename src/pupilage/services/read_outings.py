"""What the log says of a dog's outings: the next one, the chances as time goes on, and how far it has come."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.toilet.reading import ToiletReading, read_toilet
from pupilage.core.clock import age_weeks
from pupilage.core.errors import InvalidInput
from pupilage.core.words import Sentence
from pupilage.services.read_care_panel import LEARNED_FROM
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.programmes import outing_risk_of, programme_readable_by

SLACK = timedelta(days=1)


@dataclass(frozen=True)
class OutingsPage:
    """A dog's outings. reading: None where the model has nothing to say, and then `why_not` says why."""

    dog_id: UUID
    dog: str
    age_weeks: float
    programme_id: UUID | None
    reading: ToiletReading | None
    why_not: Sentence | None


def read_outings(actor: Actor, dog_id: UUID, *, now: datetime) -> OutingsPage:
    """Return the page of a dog's outings. Who may: whoever may read. Raises NotFound."""
    dog = dog_readable_by(actor, dog_id)
    events = list_care_events(dog, since=now - LEARNED_FROM, until=now + SLACK)
    reading, why_not = None, None
    try:
        reading = read_toilet(events, born_on=dog.born_on, zone=actor.zone, now=now, risk=outing_risk_of(dog))
    except InvalidInput as error:
        why_not = error.problems[0].sentence
    return OutingsPage(
        dog_id=dog.id,
        dog=dog.name,
        age_weeks=age_weeks(dog.born_on, now.astimezone(actor.zone).date()),
        programme_id=dog.programmes.order_by("-arrival_on").values_list("id", flat=True).first(),
        reading=reading,
        why_not=why_not,
    )


def read_outings_of_programme(actor: Actor, programme_id: UUID, *, now: datetime) -> OutingsPage:
    """Return the page of a programme's pup. Who may: whoever may read. Raises NotFound."""
    return read_outings(actor, programme_readable_by(actor, programme_id).dog_id, now=now)
