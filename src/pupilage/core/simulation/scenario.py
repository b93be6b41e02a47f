"""A scenario: everything that a filled workspace holds, as plain values. The demo is one, made by a generator."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from pupilage.core.care.events import CareEvent
from pupilage.core.care.exposures.log import Exposure, VetWord
from pupilage.core.incidents.absences import AbsenceRecord
from pupilage.core.incidents.record import Incident
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.core.training.record.events import Event


@dataclass(frozen=True)
class ScenarioDog:
    """A dog: the pup, or the dog that lives there. weights: (instant, kg), oldest first.

    conditions: the body condition of each weighing, as far as it was judged.
    """

    name: str
    sex: str
    breed: str
    born_on: date
    resident: bool
    weights: Sequence[tuple[datetime, float]]
    daily_food_g: float | None
    food_kcal_per_100g: float | None
    expected_adult_weight_kg: float | None
    signs: str = ""
    conditions: Sequence[int] = ()


@dataclass(frozen=True)
class ScenarioReinforcer:
    """A reinforcer: grams a piece, kcal per 100 g, and whether it comes out of the weighed ration."""

    name: str
    piece_g: float
    kcal_per_100g: float
    from_ration: bool


@dataclass(frozen=True)
class ScenarioGoal:
    """A goal of the programme: behaviour, the step it should be at, and how much it matters (1 to 5)."""

    behaviour: str
    step: str
    weight: int


@dataclass(frozen=True)
class ScenarioVetDate:
    """A date with the veterinarian."""

    on: date
    what: str


@dataclass(frozen=True)
class ScenarioAppointment:
    """A time at which the trainer is busy; comes_along: the pup is there too, else it rests."""

    starts_at: datetime
    ends_at: datetime
    words: str
    comes_along: bool


@dataclass(frozen=True)
class Scenario:
    """A household, a family, two dogs, one programme, and what was written down so far.

    sessions: one sequence of events for each session, in time order; the first event starts the session.
    """

    timezone: str
    trainer: str
    household: str
    family: str
    pup: ScenarioDog
    resident: ScenarioDog | None
    arrival_on: date
    handover_on: date
    reinforcers: Sequence[ScenarioReinforcer]
    goals: Sequence[ScenarioGoal]
    vet_dates: Sequence[ScenarioVetDate]
    sessions: Sequence[Sequence[Event]]
    care_events: Sequence[CareEvent]
    incidents: Sequence[Incident]
    absences: Sequence[AbsenceRecord]
    exposures: Sequence[Exposure | VetWord]
    day: DayPreferences
    appointments: Sequence[ScenarioAppointment]
