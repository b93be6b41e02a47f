"""Charts of one behaviour's way: the chance of today's step day by day, and how soon, how long and how briskly."""

from collections.abc import Sequence
from datetime import date
from typing import Any

import altair as alt
from django.utils.formats import date_format
from django.utils.translation import gettext

from pupilage.core.progress.course import Evening, StepChance
from pupilage.core.progress.days import DayLine
from pupilage.core.words import Sentence, sentence
from pupilage.reports.charts.chart import Chart, kept
from pupilage.reports.charts.days import day_axis
from pupilage.reports.charts.style import INK, PEN, PENCIL, chance_labels, finish, label_expression, rows
from pupilage.reports.formatting import show_number, show_seconds

CHANCES = (0.0, 0.25, 0.5, 0.75, 1.0)
BELOW = -0.1
"""Where the numbers of the steps stand, below the chances."""

TICKS_S = (0.5, 1, 2, 5, 10, 20, 60, 120, 300, 900, 3600)


@kept
def draw_way(
    evenings: tuple[Evening, ...], days: tuple[DayLine, ...], steps: tuple[str, ...], step: int
) -> Chart | None:
    """Return the chance of a try at a step in the evening of every day, with the number of the step practised then.

    Parameters: steps, the keys of the list; step, the place of today's, from 0. None without an evening.
    """
    if not evenings:
        return None
    first, last = evenings[0].day, (evenings[-1].day - evenings[0].day).days
    chances = [(one.day, one.steps[step]) for one in evenings]
    x = alt.X("day:Q", title=None, axis=day_axis(first, last), scale=_days(last))
    scale = alt.Scale(domain=[2 * BELOW + 0.04, 1], nice=False)
    axis = alt.Axis(values=list(CHANCES), labelExpr=chance_labels())
    title = gettext("of tries met; below, the step in practice")
    dots = alt.Chart(rows([_chance(day, one, first) for day, one in chances]))
    changes = alt.Chart(rows(_changes(days, {key: n for n, key in enumerate(steps, start=1)}, first)))
    layers = [
        dots.mark_rule().encode(x=x, y=alt.Y("low:Q", title=title, scale=scale, axis=axis), y2=alt.Y2("high")),
        dots.mark_point().encode(x=x, y=alt.Y("p:Q")),
        changes.mark_text(color=INK).encode(x=x, y=alt.Y("below:Q"), text=alt.Text("step:N")),
    ]
    return Chart(finish(alt.layer(*layers), height_px=250), _says_way(chances, step))


def _chance(day: date, one: StepChance, first: date) -> dict[str, Any]:
    return {"day": (day - first).days, "p": one.p, "low": one.low, "high": one.high}


def _changes(days: Sequence[DayLine], places: dict[str, int], first: date) -> list[dict[str, Any]]:
    """Return the step's number on every day on which it was not that of the day before."""
    found: list[dict[str, Any]] = []
    before = ""
    for line in days:
        if line.step != before and line.step in places and line.day >= first:
            found.append({"day": (line.day - first).days, "step": str(places[line.step]), "below": BELOW})
        before = line.step
    return found


def _says_way(chances: Sequence[tuple[date, StepChance]], step: int) -> Sentence:
    (first, then), (last, now) = chances[0], chances[-1]
    if len(chances) == 1:
        return sentence(
            "Step {step}, on {day}: a try should be met {p:.0%} of the time; {low:.0%} to {high:.0%} fits the record.",
            step=step + 1, day=_short(last), p=now.p, low=now.low, high=now.high,
        )  # fmt: skip
    return sentence(
        "Step {step}, today's, would have been met {then:.0%} of the time on {first}; on {last} it was {p:.0%},"
        " and {low:.0%} to {high:.0%}, the stroke, fits the record.",
        step=step + 1, then=then.p, first=_short(first), last=_short(last), p=now.p, low=now.low, high=now.high,
    )  # fmt: skip


@kept
def draw_latency(days: tuple[DayLine, ...]) -> Chart | None:
    """Return the median seconds from cue to behaviour by day; None under two days with any."""
    found = [(line.day, line.latency_s) for line in days if line.latency_s is not None]
    if len(found) < 2:
        return None
    says = sentence(
        "From cue to behaviour: usually {then} on {first}, {now} on {last}.",
        then=show_seconds(found[0][1]), first=_short(found[0][0]), now=show_seconds(found[-1][1]),
        last=_short(found[-1][0]),
    )  # fmt: skip
    return _small(found, gettext("seconds from cue to behaviour"), says, seconds=True)


@kept
def draw_held(days: tuple[DayLine, ...]) -> Chart | None:
    """Return the longest hold by day; None under two days with any."""
    found = [(line.day, line.held_s) for line in days if line.held_s is not None]
    if len(found) < 2:
        return None
    says = sentence(
        "The longest hold of a day: {then} on {first}, {now} on {last}; the longest of all was {most}.",
        then=show_seconds(found[0][1]), first=_short(found[0][0]), now=show_seconds(found[-1][1]),
        last=_short(found[-1][0]), most=show_seconds(max(seconds for _, seconds in found)),
    )  # fmt: skip
    return _small(found, gettext("longest hold"), says, seconds=True)


@kept
def draw_rewards(days: tuple[DayLine, ...]) -> Chart | None:
    """Return the rewards a minute by day; None under two days with watched minutes."""
    found = [(line.day, line.rewards_per_min) for line in days if line.rewards_per_min is not None]
    if len(found) < 2:
        return None
    says = sentence(
        "Rewards a minute in training: {then} on {first}, {now} on {last}; ten to fifteen is usual while teaching, and"
        " holds are slower by nature.",
        then=show_number(found[0][1]), first=_short(found[0][0]), now=show_number(found[-1][1]),
        last=_short(found[-1][0]),
    )  # fmt: skip
    return _small(found, gettext("rewards a minute"), says, seconds=False)


def _small(found: Sequence[tuple[date, float]], title: str, says: Sentence, *, seconds: bool) -> Chart:
    first, last = found[0][0], (found[-1][0] - found[0][0]).days
    most = max(value for _, value in found)
    axis = _seconds_axis(most) if seconds else alt.Axis(tickCount=3)
    x = alt.X("day:Q", title=None, axis=day_axis(first, last), scale=_days(last))
    y = alt.Y("value:Q", title=title, axis=axis, scale=alt.Scale(domain=[0, 1.1 * most or 1.0], nice=False))
    data = rows([{"day": (day - first).days, "value": value} for day, value in found])
    dots = alt.OverlayMarkDef(color=PEN, size=50, filled=True, opacity=1)
    drawn = alt.Chart(data).mark_line(color=PENCIL, strokeWidth=1, point=dots).encode(x=x, y=y)
    return Chart(finish(drawn, height_px=150), says)


def _seconds_axis(most: float) -> alt.Axis:
    step = next((one for one in TICKS_S if most / one < 3.5), TICKS_S[-1])
    ticks = [step * n for n in range(int(most / step) + 1)]
    labels = {int(tick) if tick == int(tick) else tick: show_seconds(float(tick)) for tick in ticks}
    return alt.Axis(values=ticks, labelExpr=label_expression(labels))


def _days(last: int) -> alt.Scale:
    return alt.Scale(domain=[-0.5, last + 0.5], nice=False)


def _short(day: date) -> str:
    return date_format(day, "j M")
