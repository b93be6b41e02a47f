"""All goals of a stay on one chart: the chance of the test today, and on the day of the hand-over."""

from collections.abc import Sequence
from typing import Any

import altair as alt
from django.utils.translation import gettext

from pupilage.core.progress.passing import PassChance
from pupilage.core.progress.way import GoalProgress
from pupilage.core.words import Sentence, sentence
from pupilage.reports.charts.chart import Chart, kept
from pupilage.reports.charts.style import PEN, SHEET, chance_labels, finish, rows

CHANCES = (0.0, 0.25, 0.5, 0.75, 1.0)
GOAL_PX = 50
MOST_LETTERS = 42

Drawn = tuple[str, PassChance, PassChance]
"""A goal's name, and the chance of its test today and at the hand-over."""


def draw_goals(goals: Sequence[GoalProgress]) -> Chart | None:
    """Return the chart; None where no goal has both chances. Open dot: today; full dot: at the hand-over."""
    drawn = [(goal.behaviour.name, goal.now, goal.then) for goal in goals]
    both = tuple((name, now, then) for name, now, then in drawn if now is not None and then is not None)
    return _draw(both, len(goals)) if both else None


@kept
def _draw(drawn: tuple[Drawn, ...], n_goals: int) -> Chart:
    n = len(drawn)
    axis = alt.Axis(values=list(CHANCES), labelExpr=chance_labels())
    x: dict[str, Any] = {"scale": alt.Scale(domain=[0, 1]), "axis": axis}
    y = alt.Y("line:Q", title=None, axis=None, scale=alt.Scale(domain=[n, -0.3], nice=False))
    title = gettext("chance of passing the test")
    base = alt.Chart(rows(_records(drawn)))
    names = alt.Chart(rows([{"line": i, "name": _short(name), "at": 0.0} for i, (name, _, _) in enumerate(drawn)]))
    ends = base.mark_rule().encode(x=alt.X("low:Q", title=title, **x), x2=alt.X2("high"), y=y)
    open_dots = base.transform_filter("!datum.full").mark_point(fill=SHEET, stroke=PEN, strokeWidth=2, size=65)
    layers = [
        names.mark_text(align="left", baseline="middle").encode(x=alt.X("at:Q", **x), y=y, text=alt.Text("name:N")),
        ends,
        open_dots.encode(x=alt.X("p:Q"), y=y),
        base.transform_filter("datum.full").mark_point(size=75).encode(x=alt.X("p:Q"), y=y),
    ]
    return Chart(finish(alt.layer(*layers), height_px=50 + GOAL_PX * n), _says(drawn, n_goals))


def _records(goals: Sequence[Drawn]) -> list[dict[str, Any]]:
    return [
        {"line": i + below, "p": one.p, "low": one.low, "high": one.high, "full": full}
        for i, (_, now, then) in enumerate(goals)
        for one, full, below in ((now, False, 0.3), (then, True, 0.58))
    ]


def _short(name: str) -> str:
    return name if len(name) <= MOST_LETTERS else f"{name[: MOST_LETTERS - 1]}…"


def _says(drawn: Sequence[Drawn], n_goals: int) -> Sentence:
    """Return how many goals more likely than not would pass today, and at the hand-over."""
    return sentence(
        "Open dots, today: {now} of {all} goals would pass their test more likely than not; full dots, at the hand-over"
        " as planned: {then}. A stroke reaches from the slowest to the quickest pup that the record still allows.",
        now=sum(now.p >= 0.5 for _, now, _ in drawn),
        then=sum(then.p >= 0.5 for _, _, then in drawn),
        all=n_goals,
    )
