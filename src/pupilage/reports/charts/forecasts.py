"""The drawing of forecasts beside what came: a dot for each fifth of the chances, and the line of agreement."""

import altair as alt
from django.utils.translation import gettext

from pupilage.core.evaluation.forecast_scores import Scores
from pupilage.core.words import Sentence, sentence
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import PENCIL, Drawn, finish, rows

HEIGHT_PX = 300


def draw_calibration(scores: Scores) -> Chart:
    """Return the drawing; beside each dot stands how many forecasts are behind it."""
    return Chart(finish(_layers(scores), height_px=HEIGHT_PX), _says(scores))


def _layers(scores: Scores) -> Drawn:
    records = [
        {"p": 100 * b.mean_p, "share": 100 * b.share, "low": 100 * b.low, "high": 100 * b.high, "n": str(b.n)}
        for b in scores.bins
    ]
    scale = alt.Scale(domain=[0, 100], nice=False)
    x = alt.X("p:Q", scale=scale, title=gettext("chance told, in per cent"), axis=alt.Axis(tickCount=5))
    met = gettext("goals met, in per cent; beside each dot, its forecasts")
    ends = rows([{"p": 0, "share": 0}, {"p": 100, "share": 100}])
    line = alt.Chart(ends).mark_line(strokeDash=[4, 4], color=PENCIL, strokeWidth=1.5).encode(x=x, y=alt.Y("share:Q"))
    base = alt.Chart(rows(records)).encode(x=x)
    axis = alt.Axis(tickCount=5)
    limits = base.mark_rule().encode(y=alt.Y("low:Q", title=met, scale=scale, axis=axis), y2=alt.Y2("high"))
    dots = base.mark_point(size=100).encode(y=alt.Y("share:Q"))
    numbers = base.mark_text(align="left", dx=9, dy=-8).encode(y=alt.Y("share:Q"), text=alt.Text("n:N"))
    return alt.layer(limits, line, dots, numbers)


def _says(scores: Scores) -> Sentence:
    off = [b for b in scores.bins if not b.low <= b.mean_p <= b.high]
    if not off:
        return sentence(
            "Of {n} forecasts over {stays} stays, no fifth of the chances differs from what came by more than chance"
            " allows.",
            n=scores.n,
            stays=scores.n_stays,
        )
    worst = max(off, key=lambda b: abs(b.mean_p - b.share))
    return sentence(
        "Where about {told:.0%} was told, {met} of {n} came ({low:.0%} to {high:.0%}): more apart than chance allows.",
        told=worst.mean_p,
        met=worst.n_met,
        low=worst.low,
        high=worst.high,
        n=worst.n,
    )
