"""The one look of all charts: ink and pencil on the notebook's paper, told apart by shape, dash and label.

A colour is the name of a variable of notebook.css, so that one drawing serves light and dark. A chart is drawn at the
width that a page leaves on a phone of 390 px, so that a pixel here is a pixel there.
"""

from typing import Any

import altair as alt

INK = "var(--ink)"
PENCIL = "var(--pencil)"
PEN = "var(--pen)"
RULE = "var(--rule)"
SHEET = "var(--sheet)"

WIDTH_PX = 358
TEXT_PX = 13
"""On a phone of 390 px; on one of 340 px, where the drawing is narrower, still 11 px."""

DASHES: tuple[list[int], ...] = ([1, 0], [7, 4], [2, 3], [10, 3, 2, 3])
"""Of lines that stand in one drawing: whole, long, dots, dash and dot."""

SHAPES = ("circle", "square", "triangle-up", "diamond")

_TEXT = {"labelFontSize": TEXT_PX, "titleFontSize": TEXT_PX, "labelColor": INK, "titleColor": PENCIL}
_CONFIG: dict[str, Any] = {
    "aria": False,  # the drawing is one picture with one text; marks read out one by one help nobody
    "font": "sans-serif",
    "view": {"stroke": None},
    "axis": {
        **_TEXT,
        "titleFontWeight": "normal",
        "domainColor": PENCIL,
        "tickColor": PENCIL,
        "gridColor": RULE,
        "labelPadding": 4,
        "tickSize": 4,
    },
    "axisX": {"grid": False},
    "axisY": {"domain": False, "ticks": False, "titleAngle": 0, "titleAlign": "left", "titleAnchor": "end"},
    "legend": {**_TEXT, "orient": "bottom", "symbolStrokeColor": INK, "titleFontWeight": "normal"},
    "text": {"fontSize": TEXT_PX, "color": INK},
    "point": {"filled": True, "size": 60, "color": PEN, "opacity": 1},
    "bar": {"color": PEN},
    "line": {"color": PEN, "strokeWidth": 2.5},
    "rule": {"color": PEN, "strokeWidth": 2},
    "area": {"color": PEN, "opacity": 0.18},
    "tick": {"color": PEN},
}


def finish(drawn: alt.Chart | alt.LayerChart, *, height_px: int) -> dict[str, Any]:
    """Return the specification in our look, for a `Chart`. height_px: of the whole, axes among it."""
    sized = drawn.properties(
        width=WIDTH_PX, height=height_px, padding=2, autosize=alt.AutoSizeParams(type="fit", contains="padding")
    )
    return {**sized.to_dict(), "background": None, "config": _CONFIG}


def rows(records: list[dict[str, Any]]) -> alt.InlineData:
    """Return records as a chart's data."""
    return alt.InlineData(values=records)
