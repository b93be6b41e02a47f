"""The one look of all charts: ink and pencil on the notebook's paper, told apart by shape, dash and label.

A colour is the name of a variable of notebook.css, so that one drawing serves light and dark. A chart is drawn at the
width that a page leaves on a phone of 390 px, so that a pixel here is a pixel there.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

import altair as alt
from django.utils.translation import gettext

from pupilage.core.words import UNBROKEN, percent

INK = "var(--ink)"
PENCIL = "var(--pencil)"
PEN = "var(--pen)"
RULE = "var(--rule)"
SHEET = "var(--sheet)"
PAPER = "var(--paper)"
"""Under text that a line crosses."""

WIDTH_PX = 358
TEXT_PX = 13
"""On a phone of 390 px; on one of 340 px, where the drawing is narrower, still 11 px."""

DASHES: tuple[list[int], ...] = ([1, 0], [7, 4], [2, 3], [10, 3, 2, 3])
"""Of lines that stand in one drawing: whole, long, dots, dash and dot."""

SHAPES = ("circle", "square", "triangle-up", "diamond")

Drawn = alt.Chart | alt.LayerChart | alt.FacetChart
"""What `alt.layer` is said to return; a facet cannot be fitted to a width, and is not wanted."""

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
        "labelPadding": 7,
        "tickSize": 4,
        "titlePadding": 7,
    },
    "axisX": {"grid": False},
    "axisY": {
        "domain": False,
        "ticks": False,
        "titleAngle": 0,
        "titleAlign": "left",
        "titleY": -12,
        "titleBaseline": "bottom",
    },
    "legend": {**_TEXT, "orient": "bottom", "symbolStrokeColor": INK, "titleFontWeight": "normal"},
    "text": {"fontSize": TEXT_PX, "color": INK},
    "point": {"filled": True, "size": 60, "color": PEN, "opacity": 1},
    "bar": {"color": PEN},
    "line": {"color": PEN, "strokeWidth": 2.5},
    "rule": {"color": PEN, "strokeWidth": 2},
    "area": {"color": PEN, "opacity": 0.18},
    "tick": {"color": PEN},
}


def finish(drawn: Drawn, *, height_px: int) -> dict[str, Any]:
    """Return the specification in our look, for a `Chart`. height_px: of the whole, axes among it.

    It is not compared with Vega-Lite's schema, which takes longer than all the rest: the tests do that. Write channels
    as `alt.Y("rate:Q")` and `alt.Y2("high")`: for a bare text Altair goes through its whole schema, 5 ms each time.
    """
    sized = drawn.properties(
        width=WIDTH_PX, height=height_px, padding=2, autosize=alt.AutoSizeParams(type="fit", contains="padding")
    )
    return {**sized.to_dict(validate=False), "background": "transparent", "config": _CONFIG}


def label_expression(labels: Mapping[int, str] | Mapping[float, str]) -> str:
    """Return the expression that writes a quantitative axis's ticks in our own words.

    The keys are written as JavaScript writes numbers: 1, not 1.0.
    """
    return f"{json.dumps({repr(value).removesuffix('.0'): text for value, text in labels.items()})}[datum.value]"


def rows(records: Sequence[Mapping[str, Any]]) -> alt.InlineData:
    """Return records as a chart's data."""
    return alt.InlineData(values=[dict(record) for record in records])


def chance_labels() -> str:
    """Return the expression that writes an axis of chances in quarters: the ends are ends, not figures of a dog."""
    ends = {0: f"0{UNBROKEN}%", 1: f"100{UNBROKEN}%"}
    return label_expression(ends | {tick: percent(tick, gettext) for tick in (0.25, 0.5, 0.75)})
