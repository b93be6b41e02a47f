"""Filters that hand values to the one formatter, and sentences to gettext; and the tag that draws a chart."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from django import template
from django.utils import timezone
from django.utils.safestring import mark_safe

from pupilage.core.care.events import CareEvent, CareKind
from pupilage.core.care.food.unsafe import Finding, finding_sentence
from pupilage.core.catalogue.behaviour import Criterion
from pupilage.core.evaluation.celeration import say_factor
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.between_dogs import BetweenDogs
from pupilage.core.incidents.context import Context
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.since import Since
from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.record.evidence import Outcome, SessionKind
from pupilage.core.training.record.mat import CAUSE_WORDS, BreakCause
from pupilage.core.units import WeightUnit
from pupilage.core.words import Sentence
from pupilage.reports import formatting
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.svg import svg_of
from pupilage.web import alone_words, care_words, incident_words, training_words
from pupilage.web.live_state import action_word
from pupilage.web.outing_words import show_minutes
from pupilage.web.words import said

register = template.Library()


@register.inclusion_tag("pupilage/parts/chart.html")
def chart(value: Chart) -> dict[str, object]:
    """Draw a chart, with its sentence as caption and as text for those who do not see it."""
    return {"chart": value, "svg": mark_safe(svg_of(value))}  # noqa: S308 - labels are escaped by the drawing machine


@register.filter
def sentence(value: Sentence) -> str:
    return said(value)


@register.filter
def on_player(value: float) -> str:
    """Return seconds as the player's clock shows them."""
    return f"{int(value // 60)}:{value % 60:04.1f}"


@register.filter
def chance(value: float | None) -> str:
    return formatting.show_chance(value)


@register.filter
def seconds(value: float | None) -> str:
    return formatting.show_seconds(value)


@register.filter
def minutes(value: float) -> str:
    return show_minutes(value)


@register.filter
def grams(value: float | None) -> str:
    return formatting.show_grams(value)


@register.filter
def day(value: date | datetime | None) -> str:
    return formatting.show_day(value, timezone.get_current_timezone())


@register.filter
def clock(value: datetime | None) -> str:
    return formatting.show_time(value, timezone.get_current_timezone())


@register.filter
def weight(value: float | None, unit: str) -> str:
    return formatting.show_weight(value, WeightUnit(unit))


@register.filter
def metres(value: float | None) -> str:
    return formatting.show_distance(value)


@register.filter
def number(value: float | None) -> str:
    return "–" if value is None else formatting.show_number(value)


@register.filter
def factor(value: float) -> str:
    """Return a change a week as the trade writes it: ×1.40, or ÷1.40 for a fall."""
    return say_factor(value)


@register.filter
def dose(value: float) -> str:
    return formatting.show_dose(value)


@register.filter
def dialled(phone: str) -> str:
    """Return a telephone number as a link dials it."""
    return "".join(sign for sign in phone if sign.isdigit() or sign == "+")


@register.filter
def finding_words(value: Finding) -> str:
    return said(finding_sentence(value))


@register.filter
def care(event: CareEvent) -> str:
    return care_words.entry_words(event.kind, event.detail)


@register.filter
def before(value: str) -> str:
    return incident_words.before_words(value)


@register.filter
def since(value: Since) -> str:
    return incident_words.since_words(value)


@register.filter
def between_words(value: BetweenDogs | None) -> str:
    return incident_words.between_words(value)


@register.filter
def care_kind(value: CareKind) -> str:
    return care_words.kind_words(value)


@register.filter
def known_then(value: Context | None) -> list[str]:
    return incident_words.known_words(value)


@register.filter
def gain(value: Gain) -> str:
    return incident_words.gain_words(value)


@register.filter
def sign(value: Sign) -> str:
    return alone_words.sign_words(value)


@register.filter
def times(value: float) -> str:
    return formatting.show_times(value)


@register.filter
def in_ten(value: float) -> str:
    """Return a rate an hour as one in ten hours."""
    return formatting.show_number(round(10.0 * value, 1))


@register.filter
def day_short(value: date | datetime) -> str:
    return formatting.show_day_short(value, timezone.get_current_timezone())


@register.filter
def outcome(value: Outcome | str) -> str:
    return str(training_words.OUTCOME_WORDS[Outcome(value)])


@register.filter
def break_cause(value: BreakCause | str) -> str:
    return said(CAUSE_WORDS[BreakCause(value)])


@register.filter
def session_kind(value: SessionKind | str) -> str:
    return str(training_words.KIND_WORDS[SessionKind(value)])


@register.filter
def action(value: Action | None) -> str:
    return "–" if value is None else action_word(value)


@register.filter
def criterion(value: Criterion, distractions: tuple[str, ...]) -> list[str]:
    return training_words.criterion_words(value, distractions)


@register.filter
def at(mapping: Mapping[str, object], key: str) -> object:
    """Return what a mapping holds at a key, or None."""
    return mapping.get(key)


@register.filter
def index(items: Sequence[object], n: int) -> object:
    """Return the item at a place in a sequence."""
    return items[n]


@register.filter
def points(value: float) -> str:
    """Return a difference of two shares in percentage points, with its sign."""
    n = round(100.0 * value)
    return f"{'+' if n > 0 else '−' if n < 0 else '±'}{abs(n)}"
