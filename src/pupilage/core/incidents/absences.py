"""An absence as it is written down, what it tells the estimate, and what cannot be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum
from math import isfinite

from pupilage.core.clock import local_day, require_aware
from pupilage.core.errors import Problem
from pupilage.core.incidents.alone import Absence, Sign, span
from pupilage.core.incidents.panic import is_panic
from pupilage.core.incidents.survival import Wait

LONGEST_S = 24 * 3600.0
"""Longer than a day is a slip of the pen. What was too long for the age is written down all the same."""

SOONEST_S = 0.5
"""A sign in the moment of leaving counts as half a second: time zero has no logarithm."""


class Spot(StrEnum):
    """Where the pup was. Stored values are fixed for good."""

    CRATE = "crate"
    PEN = "pen"
    ROOM = "room"
    CAR = "car"
    ELSEWHERE = "elsewhere"


class Had(StrEnum):
    """What it had with it. Stored values are fixed for good."""

    CHEW = "chew"
    FOOD_TOY = "food-toy"
    TOY = "toy"
    RADIO = "radio"


class State(StrEnum):
    """How it was when it was left. Stored values are fixed for good."""

    WOKE = "woke"
    BEEN_OUT = "been-out"
    ATE = "ate"
    PLAYED = "played"
    DROWSY = "drowsy"


class Watched(StrEnum):
    """How anybody knows. Stored values are fixed for good."""

    CAMERA = "camera"
    LISTENING = "listening"
    RECORDING = "recording"
    NOT = "not"


@dataclass(frozen=True)
class SignAt:
    """A sign, and how many seconds after leaving it began; None where it was only found afterwards."""

    sign: Sign
    at_s: float | None = None


@dataclass(frozen=True)
class AbsenceRecord:
    """One absence as it was written down. at: when the person left; away_s: until they were back.

    watched_s: for how long anybody watched, None for all of it. resident: the dog of the house was with it.
    """

    id: str
    at: datetime
    away_s: float
    signs: tuple[SignAt, ...] = ()
    spot: Spot | None = None
    resident: bool = False
    had: tuple[Had, ...] = ()
    state: tuple[State, ...] = ()
    watched: Watched = Watched.CAMERA
    watched_s: float | None = None
    note: str = ""

    @property
    def back_at(self) -> datetime:
        """When the person was back."""
        return self.at + timedelta(seconds=self.away_s)

    @property
    def first(self) -> SignAt | None:
        """The first sign of distress; one without a time only where none has one. None where none was seen."""
        signs = [one for one in self.signs if one.sign is not Sign.NOT_EATING]
        timed = [one for one in signs if one.at_s is not None]
        return min(timed, key=lambda one: one.at_s or 0.0) if timed else next(iter(signs), None)

    @property
    def is_panic(self) -> bool:
        """Whether its signs together are panic."""
        return is_panic(one.sign for one in self.signs)

    def told(self) -> Absence | None:
        """Return what it tells of how long the pup stays calm; None where nobody watched and nothing was found."""
        first = self.first
        if first is not None:
            seconds = self.away_s if first.at_s is None else max(SOONEST_S, first.at_s)
            return Absence(self.at, seconds, first.sign, first.at_s is not None, self.is_panic)
        if self.is_panic or self.watched is not Watched.NOT:
            seconds = self.away_s if self.watched_s is None else min(self.away_s, self.watched_s)
            return Absence(self.at, seconds, panic=self.is_panic)
        return None


def told_by(records: Iterable[AbsenceRecord]) -> list[Absence]:
    """Return what the records tell of how long the pup stays calm, in their order."""
    return [absence for record in records if (absence := record.told()) is not None]


def waits_of(absences: Iterable[Absence]) -> list[Wait]:
    """Return the waits for a sign; a sign that was only found afterwards has no time and is in none."""
    return [Wait(one.seconds, one.sign is not Sign.NONE) for one in absences if one.known]


def problems_of(
    record: AbsenceRecord,
    others: Sequence[AbsenceRecord],
    *,
    now: datetime,
    arrived_at: datetime | None,
    zone: tzinfo,
) -> list[Problem]:
    """Return all that cannot be: of the absence itself, and beside the others that stand.

    now: with the slack that clocks have; arrived_at: the first instant of the pup's stay, None where there is none.
    """
    problems = _of_times(record, now, arrived_at, zone) + _of_signs(record)
    clash = next((one for one in others if one.id != record.id and _overlaps(record, one)), None)
    if clash is not None and isfinite(record.away_s):
        problems.append(
            Problem(
                "at",
                "It overlaps the absence of {length} from {begun} on; put the times right, or take that back first.",
                length=span(clash.away_s),
                begun=f"{clash.at.astimezone(zone):%Y-%m-%d %H:%M}",
            )
        )
    return problems


def _of_times(record: AbsenceRecord, now: datetime, arrived_at: datetime | None, zone: tzinfo) -> list[Problem]:
    problems = []
    at = require_aware(record.at)
    if not (isfinite(record.away_s) and 0.0 < record.away_s <= LONGEST_S):
        problems.append(
            Problem(
                "away_s",
                "{given:g} s away cannot be; give more than 0 seconds and no more than 24 hours.",
                given=record.away_s,
            )
        )
    elif at + timedelta(seconds=record.away_s) > now:
        problems.append(Problem("at", "It would end in the future; write it down once you are back."))
    if arrived_at is not None and at < arrived_at:
        problems.append(
            Problem(
                "at",
                "This is before the pup came on {day}; write what its breeder or owner told you into the note.",
                day=local_day(arrived_at, zone).isoformat(),
            )
        )
    if record.watched_s is not None and not (isfinite(record.watched_s) and record.watched_s > 0.0):
        problems.append(Problem("watched_s", "Watched for {given:g} s tells nothing.", given=record.watched_s))
    return problems


def _of_signs(record: AbsenceRecord) -> list[Problem]:
    problems = []
    for one in record.signs:
        if one.sign is Sign.NONE:
            problems.append(Problem("signs", "“None” is no sign; leave the list empty."))
        elif one.at_s is None:
            continue
        elif not (isfinite(one.at_s) and 0.0 <= one.at_s <= record.away_s):
            problems.append(
                Problem(
                    "signs",
                    "“{sign}” after {given:g} s is not while you were away for {away:g} s; put one of the two right.",
                    sign=one.sign,
                    given=one.at_s,
                    away=record.away_s,
                )
            )
        elif record.watched is Watched.NOT:
            problems.append(
                Problem(
                    "signs",
                    "Nobody watched, so that “{sign}” has no time: leave the time out, or say how it was watched.",
                    sign=one.sign,
                )
            )
    return problems


def _overlaps(one: AbsenceRecord, other: AbsenceRecord) -> bool:
    if not isfinite(one.away_s) or not 0 < one.away_s <= LONGEST_S:
        return False
    return one.at < other.back_at and other.at < one.back_at
