"""What the record says of a dog's time alone, and how long the next absence should be."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.events import CareEvent
from pupilage.core.care.toilet.next_outing import next_outing
from pupilage.core.care.toilet.outlook import outing_limits
from pupilage.core.care.toilet.record import has_curve, read_log
from pupilage.core.clock import age_weeks, local_day
from pupilage.core.incidents.absences import AbsenceRecord, told_by, waits_of
from pupilage.core.incidents.alone import Ceiling, NextAbsence, next_absences
from pupilage.core.incidents.growth import Growth, read_growth
from pupilage.core.incidents.survival import SurvivalCurve, Wait, survival_of
from pupilage.core.words import Sentence, sentence
from pupilage.services.read_care_panel import LEARNED_FROM
from pupilage.storage.models import Dog
from pupilage.storage.queries.absences import last_advice, list_absences
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.programmes import outing_risk_of

N_PROPOSED = 4


@dataclass(frozen=True)
class AlonePage:
    """A dog's time alone. proposed: the next few absences, or the one answer that there is none.

    first: what is done before leaving, None where nothing is due. panicked: panic that no professional has answered;
    advice: when practice was last said to go on, and the words. curve: of the waits, all watched absences since then;
    absences: all that stand, the newest first; n_untold: those that nobody watched.
    """

    dog_id: UUID
    dog: str
    age_weeks: float
    proposed: tuple[NextAbsence, ...]
    ceiling: Ceiling | None
    first: Sentence | None
    panicked: bool
    advice: tuple[datetime, str] | None
    growth: Growth
    curve: SurvivalCurve | None
    waits: tuple[Wait, ...]
    absences: tuple[AbsenceRecord, ...]
    n_untold: int


def read_alone(actor: Actor, dog_id: UUID, *, now: datetime) -> AlonePage:
    """Return a dog's time alone. Who may: whoever may read. Raises NotFound for an unknown dog. Five queries."""
    dog = dog_readable_by(actor, dog_id)
    records, advice = list_absences(dog), last_advice(dog)
    counted = [one for one in records if advice is None or one.at > advice[0]]
    told = told_by(counted)
    waits = waits_of(told)
    age = max(0.0, age_weeks(dog.born_on, local_day(now, actor.zone)))
    events = list_care_events(dog, since=now - LEARNED_FROM, until=now)
    ceiling = _ceiling(actor, dog, events, now)
    proposed = tuple(next_absences(told, age_weeks=age, n=N_PROPOSED, ceiling=ceiling))
    return AlonePage(
        dog_id=dog.id,
        dog=dog.name,
        age_weeks=age,
        proposed=proposed,
        ceiling=ceiling,
        first=_first(actor, dog, events, now, proposed[0]),
        panicked=any(one.is_panic for one in counted),
        advice=advice,
        growth=read_growth(told, zone=actor.zone),
        curve=survival_of(waits) if waits else None,
        waits=tuple(waits),
        absences=tuple(reversed(records)),
        n_untold=len(counted) - len(told),
    )


def _ceiling(actor: Actor, dog: Dog, events: list[CareEvent], now: datetime) -> Ceiling | None:
    """Return how long it holds at the risk that the trainer takes; None for an age without a curve."""
    if not has_curve(age_weeks(dog.born_on, local_day(now, actor.zone))):
        return None
    log = [event for event in events if event.at <= now]
    limits = outing_limits(read_log(log, born_on=dog.born_on, zone=actor.zone, now=now), outing_risk_of(dog))
    reason = sentence("No longer than {minutes} min: it may have to go out by then.", minutes=limits.awake_min)
    return Ceiling(limits.awake_min * 60.0, reason)


def _first(actor: Actor, dog: Dog, events: list[CareEvent], now: datetime, proposed: NextAbsence) -> Sentence | None:
    """Return that it goes out first, where an outing is due before the absence would end."""
    if proposed.seconds is None:
        return None
    due = next_outing(events, born_on=dog.born_on, zone=actor.zone, now=now, risk=outing_risk_of(dog))
    if due.at > now + timedelta(seconds=proposed.seconds):
        return None
    return sentence("Out to the toilet first: an outing is due before you would be back.")
