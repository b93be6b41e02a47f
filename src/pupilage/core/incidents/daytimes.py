"""How often something happens by the time of day."""

from collections.abc import Sequence
from datetime import date, datetime, tzinfo

from pupilage.core.clock import day_bounds, local_day
from pupilage.core.incidents.slots import Curve, Rise, Slot, figures_of, find_rise, say_too_few, slot_of
from pupilage.core.incidents.stretches import Stretch, both, holds, hours_of
from pupilage.core.words import Sentence, sentence

HOURS_OF_DAY = ((6, 10), (10, 14), (14, 18), (18, 22))


def curve_by_time(ats: Sequence[datetime], free: Sequence[Stretch], zone: tzinfo) -> Curve:
    """Return incidents and free hours by the local hours of the day. ats: of incidents within `free`."""
    days = sorted({local_day(stretch.start, zone) for stretch in free})
    slots = []
    for start, end in HOURS_OF_DAY:
        window = [_window(day, start, end, zone) for day in days]
        n = sum(holds(window, at) for at in ats)
        slots.append(slot_of(start, end, n=n, hours=hours_of(both(free, window))))
    rise = find_rise(slots, n_looked=sum(slot.rate is not None for slot in slots))
    return Curve(tuple(slots), rise, _says(slots, rise))


def _says(slots: Sequence[Slot], rise: Rise | None) -> Sentence:
    if rise is None:
        return say_too_few(slots)
    if not rise.stands_out:
        return sentence(
            "No part of the day stands out: {start} to {end} o'clock has {ratio:.1f} times the rest "
            "({low:.1f} to {high:.1f}), which may be chance.",
            **figures_of(rise),
        )
    return sentence(
        "Most often between {start} and {end} o'clock: {ratio:.1f} times the rest of the day "
        "({low:.1f} to {high:.1f}), more than chance.",
        **figures_of(rise),
    )


def _window(day: date, start: int, end: int, zone: tzinfo) -> Stretch:
    midnight = day_bounds(day, zone)[0].astimezone(zone)
    return Stretch(midnight.replace(hour=start), midnight.replace(hour=end))
