"""How often something happens by the time of day."""

from collections.abc import Sequence
from datetime import date, datetime, tzinfo

from pupilage.core.clock import day_bounds, local_day
from pupilage.core.incidents.slots import Curve, Slot, Standout, find_standout, is_enough, say_too_few, slot_of
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
    standout = find_standout(slots, n_looked=sum(slot.rate is not None for slot in slots))
    return Curve(tuple(slots), standout, _says(slots, standout))


def _says(slots: Sequence[Slot], standout: Standout | None) -> Sentence:
    if not is_enough(slots):
        return say_too_few(sum(slot.n for slot in slots))
    if standout is None:
        return sentence("No part of the day stands out from chance.")
    return sentence(
        "Most often between {start} and {end} o'clock: {ratio:.1f} times the rest of the day "
        "({low:.1f} to {high:.1f} fit the record).",
        start=standout.slot.start,
        end=standout.slot.end,
        ratio=standout.ratio.value,
        low=standout.ratio.low,
        high=standout.ratio.high,
    )


def _window(day: date, start: int, end: int, zone: tzinfo) -> Stretch:
    midnight = day_bounds(day, zone)[0].astimezone(zone)
    return Stretch(midnight.replace(hour=start), midnight.replace(hour=end))
