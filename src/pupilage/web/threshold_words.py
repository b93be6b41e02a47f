"""The threshold map in words: a line for each dimension, and the household level."""

from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.thresholds.extents import DimensionReading
from pupilage.reports.formatting import show_chance
from pupilage.reports.thresholds import show_amount, show_threshold, show_threshold_range
from pupilage.services.read_threshold import ThresholdPage
from pupilage.web.words import said

DIMENSION_WORDS = {
    Dimension.DURATION: _("How long"),
    Dimension.DISTANCE: _("How far"),
    Dimension.DISTRACTION: _("How distracting"),
    Dimension.PLACE: _("Where"),
}
SHORT_PLACES = {
    Place.QUIET_ROOM: _("quiet room"),
    Place.HOME: _("home"),
    Place.GARDEN: _("garden"),
    Place.QUIET_STREET: _("quiet street"),
    Place.BUSY_PLACE: _("busy place"),
    Place.NEW_PLACE: _("new place"),
}


@dataclass(frozen=True)
class ThresholdLine:
    """A dimension of the map: what is met 8 in 10 times and half of the time, each with its interval."""

    name: str
    at_step: str
    sure: str
    sure_range: str
    even: str
    even_range: str
    reason: str


@dataclass(frozen=True)
class HouseholdLine:
    """A chance at the household level: now, or once a step is trained."""

    when: str
    chance: str
    ends: str


def threshold_lines(page: ThresholdPage) -> list[ThresholdLine]:
    """Return the lines of the map."""
    return [_line(one) for one in page.map.dimensions]


def _line(one: DimensionReading) -> ThresholdLine:
    return ThresholdLine(
        name=str(DIMENSION_WORDS[one.dimension]),
        at_step=show_amount(one.dimension, one.at_step, SHORT_PLACES),
        sure=show_threshold(one, one.sure, SHORT_PLACES),
        sure_range=show_threshold_range(one, one.sure, SHORT_PLACES),
        even=show_threshold(one, one.even, SHORT_PLACES),
        even_range=show_threshold_range(one, one.even, SHORT_PLACES),
        reason=said(one.reason),
    )


def household_lines(page: ThresholdPage) -> list[HouseholdLine]:
    """Return the chance at the household level now, and once each step from the present one on is trained."""
    if page.map.household is None:
        return []
    low, high = page.map.household.interval()
    lines = [HouseholdLine(gettext("As it is now"), show_chance(page.map.household.mean), _ends(low, high))]
    for after in page.map.after_training:
        step = page.behaviour.step(after.step)
        summary = step.summary if step else after.step
        lines.append(HouseholdLine(summary, show_chance(after.p), _ends(after.low, after.high)))
    return lines


def _ends(low: float, high: float) -> str:
    ends = show_chance(low), show_chance(high)
    return ends[0] if ends[0] == ends[1] else " … ".join(ends)
