"""Lists to choose from that several forms share."""

from collections.abc import Iterator
from zoneinfo import available_timezones

from django.conf import settings
from django.utils.translation import gettext_lazy as _

from pupilage.core.units import WeightUnit

NO_CHOICE = ("", _("not said"))
SEX = [NO_CHOICE, ("female", _("female")), ("male", _("male"))]
UNIT_WORDS = {WeightUnit.KG: _("kilograms (kg)"), WeightUnit.LB: _("pounds (lb)")}
WEIGHT_UNITS = [(unit.value, UNIT_WORDS[unit]) for unit in WeightUnit]
IMPORTANCE = [
    (1, _("nice to have")),
    (2, _("useful")),
    (3, _("matters")),
    (4, _("matters a lot")),
    (5, _("must be there")),
]


def list_timezones() -> Iterator[tuple[str, str]]:
    """Return the IANA time zones that name a place, and UTC."""
    areas = {"Africa", "America", "Antarctica", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific"}
    yield "UTC", "UTC"
    for name in sorted(available_timezones()):
        if name.partition("/")[0] in areas:
            yield name, name.replace("_", " ")


def list_languages() -> list[tuple[str, str]]:
    """Return the languages that there is a translation for."""
    return list(settings.LANGUAGES)
