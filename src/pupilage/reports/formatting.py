"""The one formatter: how dates, times, weights, spans and chances are written for people."""

from datetime import date, datetime, tzinfo

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext

from pupilage.core.units import WeightUnit, from_kg
from pupilage.core.words import UNBROKEN, percent


def _together(text: str) -> str:
    """Return a figure that no line break parts from its unit."""
    return text.replace(" ", UNBROKEN)


def show_weight(weight_kg: float | None, unit: WeightUnit) -> str:
    """Return a weight such as `4.2 kg` or `9.3 lb`."""
    if weight_kg is None:
        return "–"
    return _together(f"{number_format(round(from_kg(weight_kg, unit), 1), decimal_pos=1)} {unit.value}")


def show_grams(grams: float | None) -> str:
    """Return grams such as `120 g`; food is weighed in grams everywhere."""
    return "–" if grams is None else _together(f"{number_format(round(grams), decimal_pos=0)} g")


def show_day(day: date | datetime | None, zone: tzinfo | None = None) -> str:
    """Return a day such as `Wed 25 November`."""
    if day is None:
        return "–"
    local = day.astimezone(zone) if isinstance(day, datetime) else day
    return date_format(local, "D j F")


def show_time(at: datetime | None, zone: tzinfo) -> str:
    """Return a time of day such as `07:45`."""
    return "–" if at is None else date_format(at.astimezone(zone), "H:i")


def show_seconds(seconds: float | None) -> str:
    """Return a span such as `0.4 s`, `12 s`, `2 min 30 s` or `3 h 5 min`."""
    return "–" if seconds is None else _together(_span(seconds))


def _span(seconds: float) -> str:
    if seconds < 9.95:
        return gettext("{n} s").format(
            n=number_format(round(seconds, 1), decimal_pos=0 if seconds == int(seconds) else 1)
        )
    whole = round(seconds)
    if whole < 60:
        return gettext("{n} s").format(n=whole)
    minutes, rest = divmod(whole, 60)
    if minutes < 60:
        return gettext("{m} min {s} s").format(m=minutes, s=rest) if rest else gettext("{m} min").format(m=minutes)
    hours, minutes = divmod(minutes, 60)
    return gettext("{h} h {m} min").format(h=hours, m=minutes)


def show_distance(distance_m: float | None) -> str:
    """Return a distance such as `0.5 m` or `3 m`."""
    if distance_m is None:
        return "–"
    return _together(f"{number_format(round(distance_m, 1), decimal_pos=0 if distance_m == int(distance_m) else 1)} m")


def show_number(value: float) -> str:
    """Return a figure without a unit, to one decimal place at most, such as `370` or `0.4`."""
    return number_format(round(value, 1), decimal_pos=0 if round(value, 1) == int(value) else 1)


def show_times(ratio: float) -> str:
    """Return a ratio such as `× 2.3`, or `× 12`."""
    places = 1 if ratio < 9.95 else 0
    return _together(f"× {number_format(round(ratio, places), decimal_pos=places)}")


def show_day_short(day: date | datetime, zone: tzinfo) -> str:
    """Return a day without its name, such as `25 Nov`."""
    local = day.astimezone(zone) if isinstance(day, datetime) else day
    return _together(date_format(local, "j M"))


def show_dose(per_kg: float) -> str:
    """Return a dose per kilogram to three significant figures, such as `9.2` or `0.046`: a small one is never 0."""
    digits = 0 if per_kg >= 100 else 1 if per_kg >= 1 else 3
    return number_format(max(round(per_kg, digits), 10.0**-digits), decimal_pos=digits)


def show_chance(p: float | None) -> str:
    """Return a chance in whole per cent; never 0 or 100, which no data can show."""
    if p is None:
        return gettext("not enough yet")
    return percent(p, gettext)
