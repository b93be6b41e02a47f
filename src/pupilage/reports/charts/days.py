"""The drawing of incidents day by day: a dot a day, the rate as a line, and the days between which it changed."""

from datetime import date

import altair as alt
from django.utils.formats import date_format
from django.utils.translation import gettext

from pupilage.core.incidents.answers import Answers
from pupilage.core.incidents.antecedents import FEWEST
from pupilage.core.incidents.changes import Change
from pupilage.core.incidents.rates import Interval
from pupilage.core.incidents.slots import LEAST_HOURS
from pupilage.core.words import Figure, Sentence, sentence
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import PEN, SHEET, finish, label_expression, rows

HEIGHT_PX = 220


def draw_days(answers: Answers) -> Chart | None:
    """Return the drawing; None with fewer than five incidents in watched hours, or fewer than four days."""
    if answers.change is None or answers.rate is None or answers.n - answers.n_outside < FEWEST:
        return None
    first = answers.days[0].day
    dots = [
        {"day": (one.day - first).days, "rate": 10 * one.n / one.hours}
        for one in answers.days
        if one.hours >= LEAST_HOURS
    ]
    last = (answers.days[-1].day - first).days
    if answers.changed_after is None:
        layers, says = _steady(answers.rate, last), _says_steady(answers.rate, len(answers.days))
    else:
        layers, says = _stepped(answers, answers.change, last), _says_changed(answers, answers.change)
    x = alt.X("day:Q", title=None, axis=day_axis(first, last), scale=alt.Scale(domain=[-0.5, last + 0.5], nice=False))
    y = alt.Y("rate:Q", title=gettext("in ten free hours"), axis=alt.Axis(tickCount=4), scale=alt.Scale(domainMin=0))
    points = alt.Chart(rows(dots)).mark_point(fill=SHEET, stroke=PEN, strokeWidth=1.5, size=55).encode(x=x, y=y)
    return Chart(finish(alt.layer(*layers, points), height_px=HEIGHT_PX), says)


def _steady(rate: Interval, last: int) -> list[alt.Chart]:
    """Return one rate over all days, with the band of rates that fit the record."""
    record = {"from": -0.5, "to": last + 0.5, "rate": 10 * rate.value, "low": 10 * rate.low, "high": 10 * rate.high}
    base = alt.Chart(rows([record])).encode(x=alt.X("from:Q"), x2=alt.X2("to"))
    return [
        base.mark_rect(color=PEN, opacity=0.15).encode(y=alt.Y("low:Q"), y2=alt.Y2("high")),
        base.mark_rule(strokeWidth=2.5).encode(y=alt.Y("rate:Q")),
    ]


def _stepped(answers: Answers, change: Change, last: int) -> list[alt.Chart]:
    """Return the two rates, and the days between which the change lies with nine chances in ten."""
    first = answers.days[0].day
    low, mode, high = ((answers.days[at].day - first).days + 0.5 for at in (change.low, change.mode, change.high))
    band = rows([{"from": low - 0.5, "to": high + 0.5}])
    steps = rows(
        [
            {"from": -0.5, "to": mode, "rate": 10 * change.rate_before},
            {"from": mode, "to": last + 0.5, "rate": 10 * change.rate_after},
        ]
    )
    return [
        alt.Chart(band).mark_rect(color=PEN, opacity=0.15).encode(x=alt.X("from:Q"), x2=alt.X2("to")),
        alt.Chart(steps).mark_rule(strokeWidth=2.5).encode(x=alt.X("from:Q"), x2=alt.X2("to"), y=alt.Y("rate:Q")),
    ]


def _says_steady(rate: Interval, n_days: int) -> Sentence:
    return sentence(
        "No change shows over {n} days: {rate:.1f} in ten free hours; the band, {low:.1f} to {high:.1f}, fits.",
        n=n_days,
        rate=10 * rate.value,
        low=10 * rate.low,
        high=10 * rate.high,
    )


def _says_changed(answers: Answers, change: Change) -> Sentence:
    day, first, last = (_short(answers.days[at].day) for at in (change.mode, change.low, change.high))
    figures: dict[str, Figure] = {"day": day, "first": first, "last": last, "p": change.p_change}
    figures |= {"old": 10 * change.rate_before, "new": 10 * change.rate_after}
    if change.rate_after < change.rate_before:
        return sentence(
            "Rarer since about {day} ({first} to {last}, the band, in nine chances of ten): {old:.1f}, now {new:.1f} "
            "in ten free hours; that there was a change has {p:.0%}.",
            **figures,
        )
    return sentence(
        "More often since about {day} ({first} to {last}, the band, in nine chances of ten): {old:.1f}, now {new:.1f} "
        "in ten free hours; that there was a change has {p:.0%}.",
        **figures,
    )


def day_axis(first: date, last: int) -> alt.Axis:
    """Return an axis of days, counted from the first: at most five are named."""
    step = max(1, -(-last // 4))
    ticks = list(range(0, last + 1, step))
    labels = {tick: _short(date.fromordinal(first.toordinal() + tick)) for tick in ticks}
    return alt.Axis(values=ticks, labelExpr=label_expression(labels))


def _short(day: date) -> str:
    return date_format(day, "j M")
