"""Charts of time alone: how many absences stayed calm for how long, and how the calm time grows."""

from collections.abc import Sequence
from typing import Any

import altair as alt

from pupilage.core.incidents.growth import CalmDay, say_curve, say_growth
from pupilage.core.incidents.survival import SurvivalCurve, Wait
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import PENCIL, finish, rows

STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200)
TICKS_S = (1, 5, 20, 60, 300, 1200, 3600, 10800)
SPANS = (
    "datum.value < 60 ? datum.value + ' s' : datum.value < 3600 ? datum.value / 60 + ' min' : datum.value / 3600 + ' h'"
)
"""A Vega expression, evaluated where the drawing is made."""


def draw_curve(curve: SurvivalCurve, waits: Sequence[Wait]) -> Chart:
    """Return the share of absences still calm, with 95 % limits, and a stroke where one ended calm."""
    axis = alt.Axis(labelExpr=SPANS, values=_ticks(max(wait.seconds for wait in waits)))
    x = alt.X("seconds:Q", title="away for", axis=axis)
    share = alt.Axis(format="%", values=[0, 0.25, 0.5, 0.75, 1])
    steps = alt.Chart(rows(_steps(curve, waits)))
    band = steps.mark_area(interpolate="step-after").encode(x=x, y=alt.Y("low:Q", axis=share), y2="high:Q")
    line = steps.mark_line(interpolate="step-after").encode(
        x=x, y=alt.Y("share:Q", title="still calm", scale=alt.Scale(domain=[0, 1.12]), axis=share)
    )
    ended = [{"seconds": wait.seconds, "share": curve.at(wait.seconds)} for wait in waits if not wait.happened]
    calm = alt.Chart(rows(ended)).mark_point(shape="stroke", angle=90, size=90, strokeWidth=1.5, filled=False)
    drawn = alt.LayerChart(layer=[band, line, calm.encode(x=x, y=alt.Y("share:Q", axis=share))])
    return Chart(finish(drawn, height_px=210), say_curve(curve, waits))


def draw_growth(days: Sequence[CalmDay]) -> Chart:
    """Return the time that nine in ten absences would stay calm, by day, and each day's longest calm one."""
    data = rows(
        [
            {
                "day": day.day.isoformat(),
                "sure": day.calm.sure_s,
                "low": day.calm.low_s,
                "high": day.calm.high_s,
                "longest": day.longest_calm_s,
            }
            for day in days
        ]
    )
    utc = alt.Scale(type="utc")  # a date without a time is UTC to Vega
    x = alt.X("day:T", title=None, axis=alt.Axis(format="%-d %b", values=_labelled(days)), scale=utc)
    scale = alt.Scale(type="log", nice=False)
    axis = alt.Axis(values=list(TICKS_S), labelExpr=SPANS)
    spread = alt.Chart(data).mark_rule().encode(x=x, y=alt.Y("low:Q", scale=scale, axis=axis), y2="high:Q")
    sure = alt.Chart(data).mark_point().encode(x=x, y=alt.Y("sure:Q", title="nine in ten calm", scale=scale, axis=axis))
    longest = (
        alt.Chart(data)
        .transform_filter("datum.longest != null")
        .mark_point(shape="square", filled=False, color=PENCIL, size=50)
        .encode(x=x, y=alt.Y("longest:Q", scale=scale, axis=axis))
    )
    return Chart(finish(alt.LayerChart(layer=[spread, sure, longest]), height_px=220), say_growth(days[-1]))


def _labelled(days: Sequence[CalmDay]) -> list[alt.DateTime]:
    """Return four days or fewer to be labelled, evenly spread; a label takes about a sixth of a phone's width."""
    every = -(-len(days) // 4)
    return [alt.DateTime(year=d.day.year, month=d.day.month, date=d.day.day, utc=True) for d in days[::every]]


def _steps(curve: SurvivalCurve, waits: Sequence[Wait]) -> list[dict[str, Any]]:
    """Return the steps from the door to the longest absence."""
    found: list[dict[str, Any]] = [{"seconds": 0.0, "share": 1.0, "low": 1.0, "high": 1.0}]
    for seconds, share, low, high in zip(curve.times, curve.share, curve.low, curve.high, strict=True):
        found.append({"seconds": float(seconds), "share": float(share), "low": float(low), "high": float(high)})
    return [*found, {**found[-1], "seconds": max(wait.seconds for wait in waits)}]


def _ticks(longest_s: float) -> list[float]:
    """Return four strokes or fewer on the axis of seconds, at lengths that people say."""
    step_s = next((step for step in STEPS_S if longest_s / step < 5.0), STEPS_S[-1])
    return [float(step_s * n) for n in range(int(longest_s // step_s) + 1)]
