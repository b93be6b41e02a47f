"""What the log of a pup says about its hazards: every outing, empty trip and accident, in the order of time."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, tzinfo
from functools import lru_cache

import numpy as np

from pupilage.core import clock
from pupilage.core.care.events import CareEvent, CareKind, standing
from pupilage.core.care.toilet import opportunity
from pupilage.core.care.toilet.curve import CELLS, OWN_EVENTS, Need, expected_hazards
from pupilage.core.care.toilet.diary import Diary, emptied, minutes_of
from pupilage.core.care.toilet.hazards import Hazards
from pupilage.core.care.toilet.opportunity import Wait
from pupilage.core.errors import InvalidInput

MIN_AGE_WEEKS, MAX_AGE_WEEKS = 6.0, 52.0
"""The curve is made for pups; beyond, the rule of thumb that it rests on says nothing."""

FOUND_LATER_MIN = 3.0
"""An accident written down so soon after a rest was found on its end: it came at some time in the rest."""


@dataclass
class NeedRecord:
    """What is known of one need. wait is None until an elimination of it is logged; since_min: its minute."""

    hazards: Hazards = field(default_factory=expected_hazards)
    wait: Wait | None = None
    since_min: float = 0.0
    exposure: list[float] = field(default_factory=lambda: [0.0] * len(CELLS))
    at_outing: Wait | None = None
    """The wait as it was at the last outing or accident: the risk is counted from there."""

    def current(self) -> Wait | None:
        """Return the wait with its exposure up to now."""
        wait = self.wait
        return None if wait is None else Wait(np.array(self.exposure), wait.p_untold, wait.empty, wait.at_risk)

    def restart(self, at_min: float) -> None:
        """Begin a new wait after an elimination."""
        self.exposure = [0.0] * len(CELLS)
        self.since_min, self.wait = at_min, Wait(np.zeros(len(CELLS)))
        self.at_outing = self.wait


@dataclass(frozen=True)
class ToiletRecord:
    """A log as read up to `now`. diary stands at its last entry; from there on what the pup does is taken to go on.

    last_out_min: the last outing or accident, None without one. n_later: entries of the future, which are not read.
    """

    needs: dict[Need, NeedRecord]
    diary: Diary
    born_on: date
    zone: tzinfo
    now: datetime
    last_out_min: float | None
    n_outings: int
    n_accidents: int
    n_later: int

    def prior_share(self, need: Need) -> float:
        """Return the share of what is known of the pup's own factor that is still the curve's: 1 without a log.

        Only the time that it stayed dry, and its accidents, count as the pup's own: what outings tell rests on how
        ready a pup is outdoors, which is taken for granted.
        """
        return OWN_EVENTS / (OWN_EVENTS + float(self.needs[need].hazards.seen))


def read_log(events: Sequence[CareEvent], *, born_on: date, zone: tzinfo, now: datetime) -> ToiletRecord:
    """Return what a care log says; entries that were taken back, and those later than `now`, do not count.

    Model: per need one wait from elimination to elimination. A success and an empty trip are opportunities
    (`opportunity`), an accident is an event at its time; one that was found after a rest came at some time in it and
    is split over the rest by what was expected. Entries may come in any order; they are read in the order of time.
    Raises: InvalidInput for an age that is none for a pup, or an instant without a zone.
    """
    now = clock.require_aware(now, "now")
    _require_pup(born_on, clock.local_day(now, zone))
    log = standing(list(events))
    past = tuple(event for event in log if clock.require_aware(event.at) <= now)
    reading = _read(past, born_on, zone) if past else _Reading(Diary.open(born_on, zone, first=now, last=now))
    return ToiletRecord(
        needs=reading.needs,
        diary=reading.diary,
        born_on=born_on,
        zone=zone,
        now=now,
        last_out_min=reading.last_out_min,
        n_outings=reading.n_outings,
        n_accidents=reading.n_accidents,
        n_later=len(log) - len(past),
    )


def _read(past: tuple[CareEvent, ...], born_on: date, zone: tzinfo) -> "_Reading":
    """Return the log read to its end; the days before the last are remembered, so that an entry more is quick."""
    last_day = clock.day_bounds(clock.local_day(past[-1].at, zone), zone)[0]
    n_before = bisect_left(past, last_day, key=lambda event: event.at)
    if not n_before:
        return _read_days(past, born_on, zone, past[-1].at)
    reading = _read_days(past[:n_before], born_on, zone, last_day).copy()
    for event in past[n_before:]:
        reading.take(event)
    return reading


@lru_cache(maxsize=32)
def _read_days(past: tuple[CareEvent, ...], born_on: date, zone: tzinfo, until: datetime) -> "_Reading":
    reading = _Reading(Diary.open(born_on, zone, first=past[0].at, last=until))
    for event in past:
        reading.take(event)
    return reading


class _Reading:
    """The log half read."""

    def __init__(self, diary: Diary) -> None:
        self.diary = diary
        self.needs = {need: NeedRecord() for need in Need}
        self.last_out_min: float | None = None
        self.n_outings = self.n_accidents = 0
        self.rest_ended_min = -np.inf
        self.before_rest: dict[Need, list[float]] = {}

    def copy(self) -> "_Reading":
        """Return a reading of its own, to go on with."""
        other = _Reading(self.diary.copy())
        other.needs = {need: replace(one, exposure=list(one.exposure)) for need, one in self.needs.items()}
        other.last_out_min, other.n_outings, other.n_accidents = self.last_out_min, self.n_outings, self.n_accidents
        other.rest_ended_min, other.before_rest = self.rest_ended_min, dict(self.before_rest)
        return other

    def take(self, event: CareEvent) -> None:
        at_min = minutes_of(event.at)
        was_resting = bool(self.diary.resting_since)
        self.go_on(at_min)
        if event.kind is CareKind.OUTING:
            self._outing(event, at_min)
        elif event.kind is CareKind.INDOORS:
            self._accident(event, at_min, found_later=was_resting or at_min - self.rest_ended_min <= FOUND_LATER_MIN)
        self.diary.take(event)
        if self.diary.resting_since and not was_resting:
            self.before_rest = {need: list(one.exposure) for need, one in self.needs.items()}
        elif was_resting and not self.diary.resting_since:
            self.rest_ended_min = at_min

    def go_on(self, to_min: float) -> None:
        """Go on to a minute. After hours that nobody wrote down, what was going on at their start is let go."""
        if self.diary.is_silent_until(to_min):
            for one in self.needs.values():
                if one.wait is not None:
                    one.hazards = opportunity.after_nothing(one.hazards, one.current() or one.wait)
                    one.wait = one.at_outing = None
        clocks = {need: one.since_min for need, one in self.needs.items() if one.wait is not None}
        self.diary.advance(to_min, clocks, {need: one.exposure for need, one in self.needs.items()})

    def _outing(self, event: CareEvent, at_min: float) -> None:
        self.n_outings += 1
        self.last_out_min = at_min
        came = emptied(event)
        for need, one in self.needs.items():
            wait = one.current()
            if need in came:
                if wait is not None and wait.exposure.any():
                    one.hazards = opportunity.after_success(one.hazards, wait)
                one.restart(at_min)
            elif wait is not None:
                one.wait = one.at_outing = opportunity.with_empty_trip(one.hazards, wait)
            else:
                one.restart(at_min)

    def _accident(self, event: CareEvent, at_min: float, *, found_later: bool) -> None:
        self.n_accidents += 1
        self.last_out_min = at_min
        came = emptied(event)
        for need, one in self.needs.items():
            wait = one.current()
            if need in came:
                if wait is not None and wait.exposure.any():
                    shares = self._shares(need, wait, found_later=found_later)
                    one.hazards = opportunity.after_accident(one.hazards, wait, shares)
                one.restart(at_min)
                self.before_rest.pop(need, None)
            elif wait is not None:
                one.at_outing = wait

    def _shares(self, need: Need, wait: Wait, *, found_later: bool) -> np.ndarray:
        """Return in which cells an accident came: in that of its minute, or spread over the rest before it."""
        if found_later and need in self.before_rest:
            spread = np.maximum(wait.exposure - np.array(self.before_rest[need]), 0.0)
            if spread.sum() > 0.0:
                return np.asarray(spread / spread.sum())
        one = self.needs[need]
        shares = np.zeros(len(CELLS))
        shares[self.diary.curve().cell(need, self.diary.doing(), self.diary.at_min - one.since_min)] = 1.0
        return shares


def has_curve(age_weeks: float) -> bool:
    """Return whether the pooled curve speaks of a dog of this age."""
    return MIN_AGE_WEEKS <= age_weeks <= MAX_AGE_WEEKS


def _require_pup(born_on: date, today: date) -> None:
    age = clock.age_weeks(born_on, today)
    if age < 0.0:
        raise InvalidInput.of("born_on", "The pup would be born after today; check the date of birth.")
    if not has_curve(age):
        raise InvalidInput.of(
            "born_on",
            "At {age:.0f} weeks there is no curve for this dog; it holds from {low:.0f} to {high:.0f} weeks. Check the "
            "date of birth.",
            age=age,
            low=MIN_AGE_WEEKS,
            high=MAX_AGE_WEEKS,
        )
