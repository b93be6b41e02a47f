"""Outings in words: what the pup does, and how the figures of the page are named."""

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.care.toilet.curve import Doing, Need
from pupilage.core.care.toilet.reading import ToiletReading
from pupilage.core.words import UNBROKEN
from pupilage.reports.formatting import show_chance, show_seconds

DOING_WORDS = {Doing.AWAKE: _("awake"), Doing.RESTING: _("resting by day"), Doing.NIGHT: _("asleep at night")}
NEED_WORDS = {Need.WEE: _("wee"), Need.POO: _("poo")}


def limit_rows(reading: ToiletReading) -> list[tuple[str, str]]:
    """Return for each thing that a pup does the longest time between two outings."""
    limits = reading.limits
    minutes = {Doing.AWAKE: limits.awake_min, Doing.RESTING: limits.resting_min, Doing.NIGHT: limits.night_min}
    return [(str(DOING_WORDS[doing]), show_minutes(found)) for doing, found in minutes.items()]


def prior_rows(reading: ToiletReading) -> list[tuple[str, str]]:
    """Return for each need the share of what is known that is still the curve for the age."""
    return [(str(NEED_WORDS[need]), show_chance(share)) for need, share in reading.prior_share.items()]


def show_minutes(minutes: float) -> str:
    """Return a time between outings, such as `55 min`, `2 h` or `2 h 10 min`."""
    hours, rest = divmod(round(minutes), 60)
    if hours and not rest:
        return gettext("{n} h").format(n=hours).replace(" ", UNBROKEN)
    return show_seconds(60.0 * round(minutes))
