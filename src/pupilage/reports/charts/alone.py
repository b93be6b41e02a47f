"""Charts of time alone: how many absences stayed calm for how long, and how the calm time grows."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import altair as alt
from django.utils.formats import date_format
from django.utils.translation import gettext

from pupilage.core.incidents.growth import CalmDay, say_curve, say_growth
from pupilage.core.incidents.survival import SurvivalCurve, Wait
from pupilage.core.words import percent
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import PENCIL, finish, label_expression, rows
from pupilage.reports.formatting import show_seconds

STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200)
TICKS_S = (1, 5, 20, 60, 300, 1200, 3600, 10800)
SHARES = (0.25, 0.5, 0.75)


def draw_curve(curve: SurvivalCurve, waits: Sequence[Wait]) -> Chart:
    """Return the share of absences still calm, with 95 % limits, and a stroke where one ended calm."""
    longest_s = max(wait.seconds for wait in waits)
    x = alt.X("seconds:Q", title=gettext("away for"), axis=_seconds_axis(_ticks(longest_s)))
    labels = {share: percent(share, gettext) for share in SHARES} | {0.0: gettext("none"), 1.0: gettext("all")}
    axis = alt.Axis(values=sorted(labels), labelExpr=_labels(labels))
    drawn: dict[str, Any] = {"title": gettext("still calm"), "scale": alt.Scale(domain=[0, 1]), "axis": axis}
    y = alt.Y("share:Q", **drawn)
    steps = alt.Chart(rows(_steps(curve, longest_s)))
    ended = [{"seconds": wait.seconds, "share": curve.at(wait.seconds)} for wait in waits if not wait.happened]
    calm = alt.Chart(rows(ended)).mark_point(shape="stroke", angle=90, size=90, strokeWidth=1.5, filled=False)
    layers = [
        steps.mark_area(interpolate="step-after").encode(x=x, y=alt.Y("low:Q", **drawn), y2=alt.Y2("high")),
        steps.mark_line(interpolate="step-after").encode(x=x, y=y),
        calm.encode(x=x, y=y),
    ]
    return Chart(finish(alt.layer(*layers), height_px=210), say_curve(curve, waits))


def draw_growth(days: Sequence[CalmDay]) -> Chart:
    """Return the time that nine in ten absences would stay calm, by day, and each day's longest calm one."""
    first = days[0].day
    records = [
        {"day": (one.day - first).days, "sure": one.calm.sure_s, "low": one.calm.low_s, "high": one.calm.high_s}
        for one in days
    ]
    longest = [
        {"day": (one.day - first).days, "longest": one.longest_calm_s} for one in days if one.longest_calm_s is not None
    ]
    last = records[-1]["day"]
    x = alt.X(
        "day:Q", title=None, axis=_day_axis(first, int(last)), scale=alt.Scale(domain=[-0.5, last + 1], nice=False)
    )
    drawn: dict[str, Any] = {
        "title": gettext("calm in nine of ten"),
        "scale": alt.Scale(type="log", nice=False),
        "axis": _seconds_axis(TICKS_S),
    }
    squares = alt.Chart(rows(longest)).mark_point(shape="square", filled=False, color=PENCIL, size=50)
    base = alt.Chart(rows(records))
    layers = [
        base.mark_rule().encode(x=x, y=alt.Y("low:Q", **drawn), y2=alt.Y2("high")),
        base.mark_point().encode(x=x, y=alt.Y("sure:Q", **drawn)),
        squares.encode(x=x, y=alt.Y("longest:Q", **drawn)),
    ]
    return Chart(finish(alt.layer(*layers), height_px=220), say_growth(days[-1]))


def _steps(curve: SurvivalCurve, longest_s: float) -> list[dict[str, Any]]:
    """Return the steps from the door to the longest absence."""
    found: list[dict[str, Any]] = [{"seconds": 0.0, "share": 1.0, "low": 1.0, "high": 1.0}]
    for seconds, share, low, high in zip(curve.times, curve.share, curve.low, curve.high, strict=True):
        found.append({"seconds": float(seconds), "share": float(share), "low": float(low), "high": float(high)})
    return [*found, {**found[-1], "seconds": longest_s}]


def _ticks(longest_s: float) -> list[int]:
    """Return five ticks or fewer, at lengths that people say."""
    step_s = next((step for step in STEPS_S if longest_s / step < 5.0), STEPS_S[-1])
    return [step_s * n for n in range(int(longest_s // step_s) + 1)]


def _seconds_axis(ticks: Sequence[int]) -> alt.Axis:
    return alt.Axis(values=list(ticks), labelExpr=_labels({float(tick): show_seconds(float(tick)) for tick in ticks}))


def _day_axis(first: date, last: int) -> alt.Axis:
    """Return the axis of days: four labels or fewer, each about a fifth of a phone's width."""
    ticks = list(range(0, last + 1, max(1, -(-(last + 1) // 4))))
    labels = {tick: date_format(date.fromordinal(first.toordinal() + tick), "j M") for tick in ticks}
    return alt.Axis(values=ticks, labelExpr=label_expression(labels))


def _labels(labels: dict[float, str]) -> str:
    """Return the expression for these labels; Vega writes a whole number without its decimal point."""
    return label_expression({int(value) if value == int(value) else value: text for value, text in labels.items()})
