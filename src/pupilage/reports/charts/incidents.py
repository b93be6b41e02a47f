"""The charts of an unwanted behaviour: what was there, day by day, by time of day, and by the time since something."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import altair as alt
from django.utils.translation import gettext

from pupilage.core.incidents.answers import Answers
from pupilage.core.incidents.antecedents import FEWEST, Suspect
from pupilage.core.incidents.since import Since
from pupilage.core.words import Sentence, sentence
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.curves import draw_curve
from pupilage.reports.charts.days import draw_days
from pupilage.reports.charts.style import DASHES, INK, PAPER, PEN, SHEET, finish, label_expression, rows

MOST_ROWS = 8
ROW_PX = 46
AXES_PX = 52
TICKS = {2.0**power: f"× {2**power}" if power >= 0 else f"× 1⁄{2**-power}" for power in range(-6, 9)}
MOST_TICKS = 6
WIDE = (1 / 64, 1 / 16, 1 / 4, 1, 4, 16, 64, 256)


@dataclass(frozen=True)
class IncidentCharts:
    """The charts of the incidents page; None where the record is too thin for one."""

    before: Chart | None
    days: Chart | None
    times: Chart | None
    since: Mapping[Since, Chart]


def draw_incidents(answers: Answers, name: Callable[[str], str]) -> IncidentCharts:
    """Return the charts of the answers. name: what an antecedent is called, in words."""
    since = {one: draw_curve(curve, axis=_axis(one)) for one, curve in answers.since.items()}
    return IncidentCharts(
        before=draw_before(answers.suspects, name) if answers.n >= FEWEST and answers.suspects else None,
        days=draw_days(answers),
        times=draw_curve(answers.times, axis=gettext("hours of the day")),
        since={one: chart for one, chart in since.items() if chart is not None},
    )


def draw_before(suspects: Sequence[Suspect], name: Callable[[str], str]) -> Chart:
    """Return how many times as likely with each antecedent: a dot and its interval, full where it stands out."""
    shown = suspects[:MOST_ROWS]
    records = [_record(suspect, name) for suspect in shown]
    low = min(0.5, *(one.shrunk.low for one in shown)) / 1.1
    high = max(2.0, *(one.shrunk.high for one in shown)) * 1.1
    ticks = [tick for tick in TICKS if low <= tick <= high]
    if len(ticks) > MOST_TICKS:
        ticks = [tick for tick in ticks if tick in WIDE]
    x = alt.X(
        "times:Q",
        title=gettext("times as likely with it as without it"),
        scale=alt.Scale(type="log", domain=[low, high], nice=False),
        axis=alt.Axis(values=ticks, labelExpr=label_expression({tick: TICKS[tick] for tick in ticks})),
    )
    base = alt.Chart(rows(records)).encode(y=alt.Y("row:O", axis=None, sort=[one.key for one in shown]))
    even = alt.Chart(rows([{"times": 1.0}])).mark_rule(color=INK, strokeWidth=1.5, strokeDash=DASHES[2]).encode(x=x)
    limits = base.mark_rule(yOffset=9, clip=True).encode(x=alt.X("low:Q"), x2=alt.X2("high"))
    dots = base.encode(x=x)
    open_dots = dots.transform_filter("!datum.is_full").mark_point(
        yOffset=9, fill=SHEET, stroke=PEN, strokeWidth=2, size=70
    )
    full_dots = dots.transform_filter("datum.is_full").mark_point(yOffset=9, size=130)
    names = base.mark_text(align="left", x=0, yOffset=-10).encode(text=alt.Text("name:N"))
    under = base.mark_text(align="left", x=0, yOffset=-10, stroke=PAPER, strokeWidth=5).encode(text=alt.Text("name:N"))
    counts = base.mark_text(align="right", x="width", yOffset=-10).encode(text=alt.Text("count:N"))
    layers = alt.layer(even, under, limits, open_dots, full_dots, names, counts)
    return Chart(finish(layers, height_px=AXES_PX + ROW_PX * len(shown)), _says(suspects, name))


def _record(suspect: Suspect, name: Callable[[str], str]) -> dict[str, object]:
    return {
        "row": suspect.key,
        "name": name(suspect.key),
        "count": gettext("{n} of {n_all}").format(n=suspect.n, n_all=suspect.n_all),
        "times": suspect.shrunk.value,
        "low": suspect.shrunk.low,
        "high": suspect.shrunk.high,
        "is_full": suspect.is_called,
    }


def _says(suspects: Sequence[Suspect], name: Callable[[str], str]) -> Sentence:
    called = next((suspect for suspect in suspects if suspect.is_called), None)
    if called is None:
        return sentence("Nothing stands out from chance yet, of {lines} looked at together.", lines=len(suspects))
    return sentence(
        "“{name}” goes with {k} of {n}: about {ratio:.1f} times as likely then ({low:.1f} to {high:.1f}), "
        "more than chance, with {lines} looked at together; that it is the cause shows when you change it.",
        name=name(called.key),
        k=called.n,
        n=called.n_all,
        ratio=called.shrunk.value,
        low=called.shrunk.low,
        high=called.shrunk.high,
        lines=len(suspects),
    )


def _axis(since: Since) -> str:
    match since:
        case Since.WAKING:
            return gettext("minutes since waking")
        case Since.MEAL:
            return gettext("minutes since a meal")
        case Since.OUTING:
            return gettext("minutes since an outing")
        case Since.PLAY:
            return gettext("minutes since play")
