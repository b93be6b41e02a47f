"""The drawing of a rate along an axis: a dot and its limits for each slot, and the incidents behind it as a number."""

from collections.abc import Sequence

import altair as alt
from django.utils.translation import gettext

from pupilage.core.incidents.rates import Interval
from pupilage.core.incidents.slots import Curve, Slot
from pupilage.reports.charts.chart import Chart
from pupilage.reports.charts.style import PEN, SHEET, Drawn, finish, rows

HEIGHT_PX = 210
MOST = 2.5
"""An axis reaches at most so many times the greatest rate: limits of a slot hardly watched would flatten the rest."""


def draw_curve(curve: Curve, *, axis: str) -> Chart | None:
    """Return the drawing, a full dot for the slot that stands out; None where the record is too thin for one.

    axis: what the slots are, such as “minutes since waking”.
    """
    if not curve.is_drawn:
        return None
    shown = [(slot, slot.rate) for slot in curve.slots if slot.rate is not None]
    top = min(max(rate.high for _, rate in shown), MOST * max(rate.value for _, rate in shown))
    records = [_record(slot, rate, top, is_full=slot == curve.standout) for slot, rate in shown]
    order = [str(record["slot"]) for record in records]
    return Chart(finish(_layers(records, order, top, axis), height_px=HEIGHT_PX), curve.says)


def _record(slot: Slot, rate: Interval, top: float, *, is_full: bool) -> dict[str, object]:
    return {
        "slot": f"{slot.start}–{slot.end}",
        "rate": 10 * rate.value,
        "low": 10 * rate.low,
        "high": 10 * min(rate.high, top),
        "is_cut": rate.high > top,
        "n": str(slot.n),
        "is_full": is_full,
    }


def _layers(records: list[dict[str, object]], order: Sequence[str], top: float, axis: str) -> Drawn:
    title = gettext("in ten free hours; beside each dot, its incidents")
    base = alt.Chart().encode(
        x=alt.X("slot:O", sort=list(order), title=axis, axis=alt.Axis(labelAngle=0, ticks=False)),
    )
    scale = alt.Scale(domain=[0, 10 * top * 1.04], nice=False)
    limits = base.mark_rule().encode(
        y=alt.Y("low:Q", title=title, scale=scale, axis=alt.Axis(tickCount=4)), y2=alt.Y2("high")
    )
    cut = base.transform_filter("datum.is_cut").mark_point(shape="triangle-up", size=50).encode(y=alt.Y("high:Q"))
    open_dots = base.transform_filter("!datum.is_full").mark_point(fill=SHEET, stroke=PEN, strokeWidth=2, size=70)
    full_dots = base.transform_filter("datum.is_full").mark_point(size=130)
    numbers = base.mark_text(align="left", dx=9, dy=-8).encode(y=alt.Y("rate:Q"), text=alt.Text("n:N"))
    return alt.layer(
        limits,
        cut,
        open_dots.encode(y=alt.Y("rate:Q")),
        full_dots.encode(y=alt.Y("rate:Q")),
        numbers,
        data=rows(records),
    )
