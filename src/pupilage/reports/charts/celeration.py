"""Counts per minute on a log axis over calendar days, with the line of each."""

from collections.abc import Sequence
from datetime import date, timedelta
from math import ceil, floor, log10
from typing import Any

import altair as alt
from django.utils.formats import number_format
from django.utils.translation import gettext

from pupilage.core.evaluation.celeration import Celeration, DayRate, say_celeration
from pupilage.reports.charts.chart import Chart, kept
from pupilage.reports.charts.days import day_axis
from pupilage.reports.charts.style import DASHES, PEN, PENCIL, RULE, SHEET, finish, label_expression, rows

HEIGHT_PX = 300
STEPS = (1, 2, 5)


@kept
def draw_celeration(
    met: tuple[DayRate, ...], missed: tuple[DayRate, ...], lines: tuple[Celeration | None, Celeration | None]
) -> Chart | None:
    """Return the chart; None without a watched day. Full dots: met; open squares: missed; ticks: nothing counted.

    lines: the celeration of the met and of the missed tries.
    """
    if not met:
        return None
    first, last = met[0].day, (met[-1].day - met[0].day).days
    values = [rate.per_min for rate in (*met, *missed)]
    low, high = _decade(min(values), up=False), _decade(max(values), up=True)
    x = alt.X("day:Q", title=None, axis=day_axis(first, last), scale=alt.Scale(domain=[-0.5, last + 0.5], nice=False))
    ticks = _ticks(low, high)
    axis = alt.Axis(values=ticks, labelExpr=label_expression({_whole(tick): _shown(tick) for tick in ticks}))
    scale = alt.Scale(type="log", domain=[low, high], nice=False)
    y = alt.Y("rate:Q", title=gettext("a minute"), axis=axis, scale=scale)
    mondays = alt.Chart(rows([{"day": n} for n in range(last + 1) if (first + timedelta(days=n)).weekday() == 0]))
    layers = [
        mondays.mark_rule(color=RULE, strokeWidth=1).encode(x=x),
        *_dots(missed, first, x, y, full=False),
        *_dots(met, first, x, y, full=True),
        *_line(lines[1], last, x, y, dash=DASHES[1]),
        *_line(lines[0], last, x, y, dash=DASHES[0]),
    ]
    return Chart(finish(alt.layer(*layers), height_px=HEIGHT_PX), say_celeration(lines[0], len(met)))


def _dots(rates: Sequence[DayRate], first: date, x: alt.X, y: alt.Y, *, full: bool) -> list[alt.Chart]:
    records = [{"day": (one.day - first).days, "rate": one.per_min, "none": one.n == 0} for one in rates]
    base = alt.Chart(rows(records)).encode(x=x, y=y)
    counted, none = base.transform_filter("!datum.none"), base.transform_filter("datum.none")
    mark = (
        counted.mark_point(size=55)
        if full
        else counted.mark_point(shape="square", fill=SHEET, stroke=PEN, strokeWidth=1.5, size=45)
    )
    return [none.mark_point(shape="stroke", filled=False, strokeWidth=1.5, size=70, color=PENCIL), mark]


def _line(found: Celeration | None, last: int, x: alt.X, y: alt.Y, *, dash: list[int]) -> list[alt.Chart]:
    if found is None:
        return []
    ends = [{"day": 0, "rate": found.first_per_min}, {"day": last, "rate": found.last_per_min}]
    return [alt.Chart(rows(ends)).mark_line(strokeDash=dash, strokeWidth=2).encode(x=x, y=y)]


def _decade(value: float, *, up: bool) -> float:
    """Return the next 1, 2 or 5 of a decade beyond a value, a little room left."""
    reached = 1.1 * value if up else value / 1.1
    decade = 10.0 ** floor(log10(reached))
    steps = [decade * step for step in (*STEPS, 10)]
    return next(one for one in steps if one >= reached) if up else max(one for one in steps if one <= reached)


def _ticks(low: float, high: float) -> list[float]:
    decades = range(floor(log10(low)), ceil(log10(high)) + 1)
    every: list[Any] = [10.0**decade * step for decade in decades for step in STEPS]
    return [tick for tick in (round(one, 6) for one in every) if low * 0.999 <= tick <= high * 1.001]


def _whole(value: float) -> float | int:
    return int(value) if value == int(value) else value


def _shown(tick: float) -> str:
    """Return a tick with the decimal places it needs and no more."""
    return number_format(tick, decimal_pos=max(0, -floor(log10(tick))))
