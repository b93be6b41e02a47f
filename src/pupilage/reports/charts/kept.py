"""The drawing of what was kept: the forecast with its limits, and what the family told, week by week."""

import altair as alt
from django.utils.translation import gettext

from pupilage.core.handover.kept import LEAST_DRAWN, KeptCurve
from pupilage.core.words import Figure, Sentence, sentence
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import finish, label_expression, rows

HEIGHT_PX = 190
TOP = 1.15
"""Above all: room for the words beside a dot at the top."""


def draw_kept(name: str, curve: KeptCurve) -> Chart | None:
    """Return the drawing of one behaviour, None while no week has enough entries for a point."""
    shown = [one for one in curve.told if one.n >= LEAST_DRAWN]
    if not shown:
        return None
    forecast = [
        {"day": day, "p": p, "low": low, "high": high}
        for day, p, low, high in zip(curve.days, curve.p, curve.low, curve.high, strict=True)
    ]
    told = [{"day": 7 * one.week + 3.5, "share": one.n_met / one.n, "words": f"{one.n_met}/{one.n}"} for one in shown]
    x = alt.X(
        "day:Q",
        title=gettext("days since the hand-over"),
        scale=alt.Scale(domain=[0, curve.days[-1]], nice=False),
        axis=alt.Axis(values=[0, 7, 14, 28, 56], tickSize=4),
    )
    percents = {0: "0", 0.5: "50", 1: "100"}
    y = alt.Y(
        "p:Q",
        title=gettext("tries that work, of a hundred"),
        scale=alt.Scale(domain=[0, TOP]),
        axis=alt.Axis(values=list(percents), labelExpr=label_expression(percents)),
    )
    base = alt.Chart(rows(forecast)).encode(x=x)
    band = base.mark_area().encode(y=alt.Y("low:Q", scale=alt.Scale(domain=[0, TOP])), y2=alt.Y2("high"))
    line = base.mark_line(strokeDash=[7, 4]).encode(y=y)
    dots = alt.Chart(rows(told)).encode(x=x, y=alt.Y("share:Q"))
    drawn = alt.layer(
        band, line, dots.mark_point(), dots.mark_text(align="left", dx=8, dy=-8).encode(text=alt.Text("words:N"))
    )
    return Chart(finish(drawn, height_px=HEIGHT_PX), _says(name, curve))


_SAYS = sentence(
    "{name}: without practice {first:.0%} was forecast for a first try on the day after the hand-over and {last:.0%}"
    " eight weeks later (shaded: 90 % limits); the dots are what the family told each week, {met} of {n} in all."
)


def _says(name: str, curve: KeptCurve) -> Sentence:
    figures: dict[str, Figure] = {
        "name": name,
        "first": curve.p[0],
        "last": curve.p[-1],
        "met": sum(one.n_met for one in curve.told),
        "n": sum(one.n for one in curve.told),
    }
    return Sentence(_SAYS.template, figures)
