"""The drawing of two codings: two rows of signs on one line of time, joined where the two people differ."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

import altair as alt

from pupilage.core.evaluation.comparison import Comparison
from pupilage.core.evaluation.matching import Pair
from pupilage.core.evaluation.talking_over import show_moment
from pupilage.core.training.posterior.intervals import clopper_pearson
from pupilage.core.words import Sentence, sentence
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import INK, PEN, finish, label_expression, rows

HEIGHT_PX = 150
SIGNS: Mapping[str, str] = {"met": "|", "missed": "–", "helped": "h", "void": "v"}
"""As on the session's screen; another word stands with its first letter."""

NOTHING = "○"
CROWDED = 40
"""From so many moments on the signs are smaller."""

TICKS_S = (5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600)


def draw_codings(found: Comparison) -> Chart | None:
    """Return the drawing; None where neither marked anything."""
    if not found.moments:
        return None
    size = 15 if len(found.moments) < CROWDED else 10
    signs = rows([record for pair in found.moments for record in _signs(pair)])
    joined = rows([{"at": pair.time_s, "one": 1.0, "other": 0.0} for pair in found.moments if not pair.is_same])
    names = rows([{"row": 1.0, "name": found.one.observer}, {"row": 0.0, "name": found.other.observer}])
    x = alt.X("at:Q", title=None, axis=_time_axis(found.compared_s), scale=alt.Scale(domain=[0, found.compared_s]))
    y = alt.Y("row:Q", axis=None, scale=alt.Scale(domain=[-0.4, 1.75]))
    layers = alt.layer(
        alt.Chart(joined)
        .mark_rule(strokeDash=[2, 3], color=PEN, strokeWidth=1.5)
        .encode(x=x, y=alt.Y("other_end:Q", axis=None), y2="one_end:Q")
        .transform_calculate(other_end="0.22", one_end="0.78"),
        alt.Chart(signs)
        .mark_text(fontSize=size, fontWeight="bold", color=INK)
        .encode(x=x, y=y, text=alt.Text("sign:N")),
        alt.Chart(names)
        .mark_text(align="left", baseline="bottom", dy=-12)
        .encode(x=alt.value(0), y=y, text=alt.Text("name:N")),
    )
    return Chart(finish(layers, height_px=HEIGHT_PX), _says(found))


def _signs(pair: Pair) -> Iterator[dict[str, Any]]:
    for row, mark in ((1.0, pair.one), (0.0, pair.other)):
        yield {"at": pair.time_s, "row": row, "sign": SIGNS.get(mark.code, mark.code[:1]) if mark else NOTHING}


def _says(found: Comparison) -> Sentence:
    n, n_differing = len(found.moments), len(found.moments) - found.n_same
    low, high = clopper_pearson(n_differing, n)
    return sentence(
        "They differ at {n} of {m} moments (dashed), likely {low:.0%} to {high:.0%} of all: | met, – missed, h helped, "
        "v void, ○ nothing marked.",
        n=n_differing,
        m=n,
        low=low,
        high=high,
    )


def _time_axis(length_s: float) -> alt.Axis:
    step = next((one for one in TICKS_S if length_s / one <= 5), TICKS_S[-1])
    ticks = [step * n for n in range(math.floor(length_s / step) + 1)]
    return alt.Axis(values=ticks, labelExpr=label_expression({tick: show_moment(tick) for tick in ticks}))
