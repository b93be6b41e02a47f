"""How often something happens by the minutes since the pup woke, ate, was out, or played."""

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from pupilage.core.incidents.slots import Curve, Rise, Slot, figures_of, find_rise, say_too_few, slot_of
from pupilage.core.incidents.stretches import Stretch, both, hours_of
from pupilage.core.words import Sentence, sentence

EDGES_MIN = (0, 15, 30, 60, 120, 240)
"""Edges of the slots; a pup's awake time is about an hour, and outings are one to two hours apart (own choice)."""


class Since(StrEnum):
    """What the minutes are counted from: its newest end."""

    WAKING = "waking"
    MEAL = "meal"
    OUTING = "outing"
    PLAY = "play"


def slots_since(ats: Sequence[datetime], *, free: Sequence[Stretch], moments: Sequence[datetime]) -> tuple[Slot, ...]:
    """Return incidents and free hours by the minutes since the newest of the moments.

    Model: events are Poisson with a rate that is constant in a slot; exposure is the free time at which the newest
    moment is that long ago; limits are Garwood's. Time before the first moment, and beyond four hours, is in no slot.
    Parameters: ats, of incidents within `free`; moments, in any order.
    Source: piecewise-constant rates, Breslow (1972), J. Roy. Stat. Soc. B 34, 216-217; exposure and limits against a
    count minute by minute and statsmodels in tests/external/test_since.py.
    """
    known = sorted(set(moments))
    since = [_minutes_since(known, at) for at in ats]
    slots = []
    for start, end in pairwise(EDGES_MIN):
        n = sum(start <= minutes < end for minutes in since if minutes is not None)
        slots.append(slot_of(start, end, n=n, hours=hours_of(both(free, _windows(known, start, end)))))
    return tuple(slots)


def curves_since(
    ats: Sequence[datetime], *, free: Sequence[Stretch], moments: Mapping[Since, Sequence[datetime]]
) -> dict[Since, Curve]:
    """Return a curve for each thing that was logged; all are looked at together. Parameters: see `slots_since`."""
    slots = {since: slots_since(ats, free=free, moments=moments[since]) for since in Since if moments.get(since)}
    n_looked = sum(slot.rate is not None for of_one in slots.values() for slot in of_one)
    curves = {}
    for since, of_one in slots.items():
        rise = find_rise(of_one, n_looked=n_looked)
        curves[since] = Curve(of_one, rise, _says(since, of_one, rise))
    return curves


def _minutes_since(moments: Sequence[datetime], at: datetime) -> float | None:
    place = bisect_right(moments, at)
    return (at - moments[place - 1]) / timedelta(minutes=1) if place else None


def _windows(moments: Sequence[datetime], start: int, end: int) -> list[Stretch]:
    """Return the time at which the newest moment is `start` to `end` minutes ago."""
    found = []
    for at, following in zip(moments, [*moments[1:], None], strict=True):
        first, last = at + timedelta(minutes=start), at + timedelta(minutes=end)
        last = last if following is None else min(last, following)
        if first < last:
            found.append(Stretch(first, last))
    return found


def _says(since: Since, slots: Sequence[Slot], rise: Rise | None) -> Sentence:
    if rise is None:
        return say_too_few(slots)
    return _most_of(since, rise) if rise.stands_out else _none_of(since, rise)


def _none_of(since: Since, rise: Rise) -> Sentence:
    match since:
        case Since.WAKING:
            return sentence(
                "No time after waking stands out: {start} to {end} minutes after it has {ratio:.1f} times the rest "
                "({low:.1f} to {high:.1f}), which may be chance.",
                **figures_of(rise),
            )
        case Since.MEAL:
            return sentence(
                "No time after a meal stands out: {start} to {end} minutes after it has {ratio:.1f} times the rest "
                "({low:.1f} to {high:.1f}), which may be chance.",
                **figures_of(rise),
            )
        case Since.OUTING:
            return sentence(
                "No time after an outing stands out: {start} to {end} minutes after it has {ratio:.1f} times the rest "
                "({low:.1f} to {high:.1f}), which may be chance.",
                **figures_of(rise),
            )
        case Since.PLAY:
            return sentence(
                "No time after play stands out: {start} to {end} minutes after it has {ratio:.1f} times the rest "
                "({low:.1f} to {high:.1f}), which may be chance.",
                **figures_of(rise),
            )


def _most_of(since: Since, rise: Rise) -> Sentence:
    match since:
        case Since.WAKING:
            return sentence(
                "Most often {start} to {end} minutes after waking: {ratio:.1f} times the rest of the time after it "
                "({low:.1f} to {high:.1f}), more than chance.",
                **figures_of(rise),
            )
        case Since.MEAL:
            return sentence(
                "Most often {start} to {end} minutes after a meal: {ratio:.1f} times the rest of the time after it "
                "({low:.1f} to {high:.1f}), more than chance.",
                **figures_of(rise),
            )
        case Since.OUTING:
            return sentence(
                "Most often {start} to {end} minutes after an outing: {ratio:.1f} times the rest of the time after it "
                "({low:.1f} to {high:.1f}), more than chance.",
                **figures_of(rise),
            )
        case Since.PLAY:
            return sentence(
                "Most often {start} to {end} minutes after play: {ratio:.1f} times the rest of the time after it "
                "({low:.1f} to {high:.1f}), more than chance.",
                **figures_of(rise),
            )
