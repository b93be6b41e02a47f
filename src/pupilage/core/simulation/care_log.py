"""The care log of the stay: what came of each outing, what was eaten, when the pup slept."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from numpy.random import Generator

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.simulation.chance import between, draw_id, happens
from pupilage.core.simulation.stay import Stay
from pupilage.core.simulation.timetable import Activity, ActivityKind

MEAL_SHARES = (0.3, 0.25, 0.25, 0.2)
P_CRATED_NAP = 0.6
P_POO_AFTER_MEAL = 0.65
P_POO_ON_WAKING = 0.55
P_POO_OTHERWISE = 0.05
BLADDER_MIN = 30.0
"""Minutes after which a pup of ten weeks that is awake has weed in about two outings of three (own choice)."""

TIMED = {ActivityKind.PLAY: CareKind.PLAY, ActivityKind.CHEW: CareKind.CHEW, ActivityKind.NAP: CareKind.NAP}


@dataclass
class _Inside:
    """What the pup carries: minutes of the clock at which things last happened."""

    wee_min: float = -60.0
    fed_min: float | None = None
    just_woke: bool = True


@dataclass
class CareLog:
    """One day's care events on their way to the log. food_g: what the bowl holds on that day."""

    stay: Stay
    number: int
    food_g: float
    n_meals: int
    rng: Generator
    events: list[CareEvent] = field(default_factory=list)
    inside: _Inside = field(default_factory=_Inside)
    meals_eaten: int = 0

    def write(self, kind: CareKind, at_min: float, detail: CareDetail = CareDetail.PLAIN, note: str = "") -> None:
        """Add an event at a minute of the day's clock."""
        at = self.stay.instant(self.number, at_min)
        self.events.append(CareEvent(draw_id(self.rng), kind, at, detail, note=note))

    def take(self, activity: Activity) -> None:
        """Write down one activity of the timetable."""
        match activity.kind:
            case ActivityKind.OUTING | ActivityKind.NIGHT_OUTING:
                self._outing(activity)
            case ActivityKind.ACCIDENT:
                self._accident(activity.start_min)
            case ActivityKind.MEAL:
                self._meal(activity.start_min)
            case ActivityKind.WAKE:
                self.write(CareKind.CRATE, activity.start_min, CareDetail.END)
                self.inside.just_woke = True
            case ActivityKind.BED:
                self.write(CareKind.CRATE, activity.start_min, CareDetail.START)
            case ActivityKind.PLAY | ActivityKind.CHEW | ActivityKind.NAP:
                self._timed(activity)

    def _timed(self, activity: Activity) -> None:
        kind, nap = TIMED[activity.kind], activity.kind is ActivityKind.NAP
        crated = nap and happens(self.rng, P_CRATED_NAP)
        if crated:
            self.write(CareKind.CRATE, activity.start_min - 1.5, CareDetail.START)
        self.write(kind, activity.start_min, CareDetail.START)
        self.write(kind, activity.end_min, CareDetail.END)
        if crated:
            self.write(CareKind.CRATE, activity.end_min + 0.4, CareDetail.END)
        self.inside.just_woke = self.inside.just_woke or nap

    def _outing(self, activity: Activity) -> None:
        """Write an outing; at night the crate is opened for it and closed again."""
        at_min, night = activity.start_min, activity.kind is ActivityKind.NIGHT_OUTING
        if night:
            self.write(CareKind.CRATE, at_min - 1.0, CareDetail.END)
        wee, poo = happens(self.rng, self._p_wee(at_min)), happens(self.rng, self._p_poo(at_min))
        self.write(CareKind.OUTING, at_min, _detail(wee=wee, poo=poo))
        if night:
            self.write(CareKind.CRATE, at_min + 6.0, CareDetail.START)
        self._relieved(at_min, wee=wee, poo=poo)

    def _accident(self, at_min: float) -> None:
        poo = happens(self.rng, 0.2)
        self.write(CareKind.INDOORS, at_min, _detail(wee=not poo, poo=poo))
        self._relieved(at_min, wee=not poo, poo=poo)

    def _meal(self, at_min: float) -> None:
        """Write a meal: its share of the bowl, a little more or less eaten, and the last makes up the sum."""
        shares = MEAL_SHARES[-self.n_meals :]
        left_g = self.food_g - sum(event.amount_g or 0.0 for event in self.events)
        self.meals_eaten += 1
        grams = left_g
        if self.meals_eaten < self.n_meals:
            grams = self.food_g * shares[self.meals_eaten - 1] / sum(shares) * between(self.rng, 0.88, 1.06)
        self.events.append(
            CareEvent(
                draw_id(self.rng),
                CareKind.MEAL,
                self.stay.instant(self.number, at_min),
                amount_g=float(round(grams)),
            )
        )
        if happens(self.rng, 0.6):
            self.write(CareKind.DRINK, at_min + between(self.rng, 1.0, 2.5))
        self.inside.fed_min = at_min

    def _p_wee(self, at_min: float) -> float:
        since_min = at_min - self.inside.wee_min
        return 0.96 if self.inside.just_woke else 1.0 - math.exp(-max(0.0, since_min) / BLADDER_MIN)

    def _p_poo(self, at_min: float) -> float:
        if self.inside.fed_min is not None and 5.0 <= at_min - self.inside.fed_min <= 60.0:
            return P_POO_AFTER_MEAL
        first_of_day = self.inside.just_woke and self.meals_eaten == 0
        return P_POO_ON_WAKING if first_of_day else P_POO_OTHERWISE

    def _relieved(self, at_min: float, *, wee: bool, poo: bool) -> None:
        self.inside.just_woke = False
        self.inside.wee_min = at_min if wee else self.inside.wee_min
        self.inside.fed_min = None if poo else self.inside.fed_min


def _detail(*, wee: bool, poo: bool) -> CareDetail:
    if wee and poo:
        return CareDetail.BOTH
    return CareDetail.WEE if wee else CareDetail.POO if poo else CareDetail.NOTHING


def write_care(
    days: Sequence[Sequence[Activity]], food_g: Sequence[float], stay: Stay, rng: Generator
) -> list[CareEvent]:
    """Return the care events of the days' timetables up to `now`, in time order.

    food_g: for each day the grams that go into the bowl: the ration less what came out of the pouch.
    """
    events: list[CareEvent] = []
    for number, activities in enumerate(days):
        n_meals = sum(a.kind is ActivityKind.MEAL for a in activities)
        log = CareLog(stay, number, food_g[number], n_meals, rng)
        for activity in activities:
            log.take(activity)
        events += log.events
    return _until_now(events, stay)


def _until_now(events: Iterable[CareEvent], stay: Stay) -> list[CareEvent]:
    return sorted((e for e in events if e.at <= stay.now), key=lambda event: event.at)
