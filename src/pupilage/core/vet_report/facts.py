"""The record of a period as a veterinarian reads it: counts with what they were counted in, and words as entered."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, tzinfo
from enum import StrEnum

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.log import Exposure, Response
from pupilage.core.care.food.growth import Weighing
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.absences import AbsenceRecord, Watched
from pupilage.core.incidents.days import count_days, tally_of
from pupilage.core.incidents.phases import PlanPhase
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.stretches import Stretch

LONGEST_DAYS = 731
"""Two years: longer than any stay and the weeks after it."""


class Part(StrEnum):
    """What can be left out. NOTES: free words; PEOPLE: what people did and who was in charge."""

    VET = "vet"
    INCIDENTS = "incidents"
    WEIGHT = "weight"
    TOILET = "toilet"
    ALONE = "alone"
    EXPOSURES = "exposures"
    ARRANGED = "arranged"
    NOTES = "notes"
    PEOPLE = "people"


@dataclass(frozen=True)
class Period:
    """Local days, both counted."""

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise InvalidInput.of(
                "until",
                "The period ends on {last}, before it begins on {first}; change one of the two.",
                last=self.last.isoformat(),
                first=self.first.isoformat(),
            )
        if self.n_days > LONGEST_DAYS:
            raise InvalidInput.of("from", "A period has {most} days at most; choose a later day.", most=LONGEST_DAYS)

    @property
    def n_days(self) -> int:
        return (self.last - self.first).days + 1

    def holds(self, at: datetime | date, zone: tzinfo) -> bool:
        """Return whether an instant or a day lies in it."""
        day = local_day(at, zone) if isinstance(at, datetime) else at
        return self.first <= day <= self.last


@dataclass(frozen=True)
class BehaviourRecord:
    """The incidents of one unwanted behaviour, in time order.

    tally: those that happened in watched time and its hours, None where no time was watched; n_outside: those that
    happened outside of it, which are in no rate.
    """

    name: str
    definition: str
    incidents: tuple[Incident, ...]
    tally: Tally | None
    n_outside: int

    @property
    def n_happened(self) -> int:
        return sum(one.happened for one in self.incidents)

    @property
    def n_left(self) -> int:
        return sum(one.left_it for one in self.incidents)

    @property
    def n_near_misses(self) -> int:
        return sum(one.near_miss for one in self.incidents)


def record_incidents(
    name: str, definition: str, incidents: Sequence[Incident], free: Sequence[Stretch], zone: tzinfo
) -> BehaviourRecord:
    """Return the incidents of one behaviour with the time that they could have happened in.

    Model: `count_days` and `tally_of`. free: the watched time of the period, stretches that do not pass midnight.
    """
    happened = [one.at for one in incidents if one.happened]
    tally = tally_of(count_days(happened, free, zone))
    n_inside = 0 if tally is None else tally.n
    ordered = tuple(sorted(incidents, key=lambda one: (one.at, one.id)))
    return BehaviourRecord(name, definition, ordered, tally, len(happened) - n_inside)


@dataclass(frozen=True)
class MealCount:
    """Meals written down, on how many days, and the grams of those that were weighed."""

    n: int
    n_days: int
    n_weighed: int
    eaten_g: float


def count_meals(events: Sequence[CareEvent], zone: tzinfo) -> MealCount:
    """Return the count of the meals among care events that stand."""
    meals = [event for event in events if event.kind is CareKind.MEAL]
    grams = [event.amount_g for event in meals if event.amount_g is not None]
    return MealCount(len(meals), len({local_day(one.at, zone) for one in meals}), len(grams), sum(grams))


@dataclass(frozen=True)
class ToiletCount:
    """Outings by what came, and what came indoors; an entry of both is in `wee` and in `poo`."""

    n_outings: int
    n_wee: int
    n_poo: int
    n_nothing: int
    n_indoors: int
    n_indoors_wee: int
    n_indoors_poo: int
    n_days: int


def count_toilet(events: Sequence[CareEvent], zone: tzinfo) -> ToiletCount:
    """Return the count of the toilet record; n_days: days with such an entry."""
    out = [event for event in events if event.kind is CareKind.OUTING]
    indoors = [event for event in events if event.kind is CareKind.INDOORS]
    return ToiletCount(
        n_outings=len(out),
        n_wee=_n(out, CareDetail.WEE),
        n_poo=_n(out, CareDetail.POO),
        n_nothing=sum(event.detail is CareDetail.NOTHING for event in out),
        n_indoors=len(indoors),
        n_indoors_wee=_n(indoors, CareDetail.WEE),
        n_indoors_poo=_n(indoors, CareDetail.POO),
        n_days=len({local_day(one.at, zone) for one in (*out, *indoors)}),
    )


def _n(events: Sequence[CareEvent], detail: CareDetail) -> int:
    return sum(event.detail in (detail, CareDetail.BOTH) for event in events)


@dataclass(frozen=True)
class AloneCount:
    """Absences, how many of them anybody watched, and how many had a sign of distress."""

    n: int
    n_watched: int
    n_with_sign: int


def count_absences(records: Sequence[AbsenceRecord]) -> AloneCount:
    """Return the count; an absence that nobody watched and that left no trace is in `n` alone."""
    return AloneCount(
        len(records),
        sum(one.watched is not Watched.NOT for one in records),
        sum(one.first is not None for one in records),
    )


@dataclass(frozen=True)
class ItemRecord:
    """The meetings with one thing, in time order."""

    name: str
    exposures: tuple[Exposure, ...]

    def n(self, response: Response) -> int:
        """Return how many of them ended in this response."""
        return sum(one.response is response for one in self.exposures)


@dataclass(frozen=True)
class Arranged:
    """What was arranged against a behaviour from a day on, and what was taught instead, "" for nothing."""

    behaviour: str
    phase: PlanPhase
    instead: str


@dataclass(frozen=True)
class VetReportFacts:
    """All that a report says. vet_words: when the veterinarian said yes to what; advice: words on time alone."""

    dog: str
    sex: str
    breed: str
    born_on: date
    trainer: str
    made_on: date
    period: Period
    zone: tzinfo
    left_out: frozenset[Part] = frozenset()
    signs: str = ""
    vet_dates: tuple[tuple[date, str], ...] = ()
    vet_words: tuple[tuple[datetime, VetTopic], ...] = ()
    advice: tuple[tuple[datetime, str], ...] = ()
    behaviours: tuple[BehaviourRecord, ...] = ()
    watched_h: float = 0.0
    n_days_watched: int = 0
    weighings: tuple[Weighing, ...] = ()
    food_name: str = ""
    daily_g: float | None = None
    meals: MealCount = MealCount(0, 0, 0, 0.0)
    toilet: ToiletCount = ToiletCount(0, 0, 0, 0, 0, 0, 0, 0)
    absences: tuple[AbsenceRecord, ...] = ()
    met: tuple[ItemRecord, ...] = field(default=())
    arranged: tuple[Arranged, ...] = ()

    def has(self, part: Part) -> bool:
        """Return whether a part is to be told."""
        return part not in self.left_out
