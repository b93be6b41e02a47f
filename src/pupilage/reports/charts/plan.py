"""The drawing of a plan's phases: a dot a day, each phase's mean with its band, a line where a phase begins."""

from collections.abc import Sequence
from datetime import date

import altair as alt
from django.utils.formats import date_format
from django.utils.translation import gettext

from pupilage.core.incidents.comparison import LEAST_DAY_HOURS
from pupilage.core.incidents.phases import PhaseDays, PhaseKind
from pupilage.core.incidents.plan_answers import PlanAnswers
from pupilage.core.words import Sentence, sentence
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.days import day_axis
from pupilage.reports.charts.style import DASHES, PEN, SHEET, finish, rows

HEIGHT_PX = 240
FEWEST_DAYS = 3
LABEL_PX = 17
"""From one phase's name to the next below it: two that begin soon after another do not lie on each other."""


def draw_plan(answers: PlanAnswers) -> Chart | None:
    """Return the drawing; None under three watched days."""
    days = [day for phase in answers.phases for day in phase.days]
    if len(days) < FEWEST_DAYS:
        return None
    first, last = days[0].day, days[-1].day
    watched = [10.0 * day.n / day.hours for day in days if day.hours >= LEAST_DAY_HOURS]
    means = [10.0 * phase.rate.value for phase in answers.phases if phase.rate is not None]
    top = 1.15 * max([*watched, *means, 1.0])
    x_of = alt.X(
        "day:Q",
        title=None,
        axis=day_axis(first, (last - first).days),
        scale=alt.Scale(domain=[-0.5, (last - first).days + 0.5], nice=False),
    )
    y_of = alt.Y(
        "rate:Q",
        title=gettext("in ten free hours"),
        axis=alt.Axis(tickCount=4),
        scale=alt.Scale(domain=[0, top], nice=False),
    )
    layers = _means(answers.phases, first, last, top)
    layers += _dots(answers.phases, first, x_of, y_of)
    layers += _starts(answers.phases, first, last)
    return Chart(finish(alt.LayerChart(layer=layers), height_px=HEIGHT_PX), _says(answers))


def _means(phases: Sequence[PhaseDays], first: date, last: date, top: float) -> list[alt.Chart]:
    """Return each phase's mean over its days, and the band of means that fit it."""
    records = []
    for phase in phases:
        if phase.rate is not None:
            start = max(phase.starts_on, first)
            records.append(
                {
                    "day": (start - first).days - 0.5,
                    "to": (phase.days[-1].day - first).days + 0.5,
                    "rate": 10.0 * phase.rate.value,
                    "low": min(10.0 * phase.rate.low, top),
                    "high": min(10.0 * phase.rate.high, top),
                }
            )
    base = alt.Chart(rows(records)).encode(x="day:Q", x2="to:Q")
    return [
        base.mark_rect(color=PEN, opacity=0.15).encode(y="low:Q", y2="high:Q"),
        base.mark_rule(strokeWidth=2.5).encode(y="rate:Q"),
    ]


def _dots(phases: Sequence[PhaseDays], first: date, x: alt.X, y: alt.Y) -> list[alt.Chart]:
    """Return the days: open without a plan, full with one."""
    records = [
        {"day": (day.day - first).days, "rate": 10.0 * day.n / day.hours, "full": _is_plan(phase)}
        for phase in phases
        for day in phase.days
        if day.hours >= LEAST_DAY_HOURS
    ]
    base = alt.Chart(rows(records)).encode(x=x, y=y)
    return [
        base.transform_filter("!datum.full").mark_point(fill=SHEET, stroke=PEN, strokeWidth=1.5, size=55),
        base.transform_filter("datum.full").mark_point(size=65),
    ]


def _starts(phases: Sequence[PhaseDays], first: date, last: date) -> list[alt.Chart]:
    """Return a dashed line where each phase begins, and its name."""
    begun = [phase for phase in phases if phase.phase is not None and first < phase.starts_on <= last]
    drawn: list[alt.Chart] = []
    for i, phase in enumerate(begun):
        at = (phase.starts_on - first).days - 0.5
        is_late = at > 0.6 * (last - first).days
        base = alt.Chart(rows([{"day": at, "name": _name(phase, is_first=i == 0)}])).encode(x="day:Q")
        drawn += [
            base.mark_rule(strokeWidth=1.5, strokeDash=DASHES[1]),
            base.mark_text(
                align="right" if is_late else "left",
                dx=-5 if is_late else 5,
                y=8 + LABEL_PX * (i % 3),
                baseline="middle",
            ).encode(text="name:N"),
        ]
    return drawn


def _is_plan(phase: PhaseDays) -> bool:
    return phase.phase is not None and phase.phase.kind is PhaseKind.PLAN


def _name(phase: PhaseDays, *, is_first: bool) -> str:
    if not _is_plan(phase):
        return gettext("ended")
    return gettext("plan") if is_first else gettext("changed")


def _says(answers: PlanAnswers) -> Sentence:
    """Return the newest plan beside the days before any, or beside the phase before it, and how sure that is."""
    compared = answers.since_first or answers.comparison
    if answers.newest is None:
        return sentence("A dot for each day; the line is their mean, and the band holds what fits it (95 in 100).")
    if compared is None or compared.before.n == 0:
        return sentence("A dot for each day; lines are the means of the phases, bands what fits them (95 in 100).")
    return sentence(
        "With the plan of {day}, {ratio:.2f} times as often as before any; {low:.2f} to {high:.2f} fit the record. "
        "Full dots: days with a plan. Lines are the means of the phases, bands what fits them (95 in 100).",
        day=date_format(answers.newest.starts_on, "j M"),
        ratio=compared.ratio.value,
        low=compared.ratio.low,
        high=compared.ratio.high,
    )
