"""The drawing of a chart: an SVG to stand inside a page, without style, script or reference to anything outside it."""

from functools import lru_cache
from xml.etree import ElementTree

from pupilage.reports.charts.chart import Chart

VEGA_LITE = "6.4"
"""That of the installed Altair; tests/unit/reports/test_charts.py compares the two."""

KEPT = 256
"""Drawings kept in the process, of about ten kilobytes each."""

_SVG = "{http://www.w3.org/2000/svg}"
_DROPPED = {"class", "role", "pointer-events", "font-family", "stroke-miterlimit", "width", "height", "version"}
"""Attributes that say nothing here: the page's font is inherited, and the whole drawing has one role and one text."""


def svg_of(chart: Chart) -> str:
    """Return the drawing, its alternative text the element `{chart.key}-says`.

    The first one in a process takes half a second, for the drawing machine's start; the same chart again takes none.
    """
    return _drawn(chart.text).replace("<svg ", f'<svg role="img" aria-labelledby="{chart.key}-says" ', 1)


@lru_cache(maxsize=KEPT)
def _drawn(spec: str) -> str:
    import vl_convert  # 85 MB of machine code, wanted by pages with a chart alone

    drawn = vl_convert.vegalite_to_svg(spec, vl_version=VEGA_LITE, allowed_base_urls=[])
    root = ElementTree.fromstring(drawn)  # noqa: S314 - made a line above, from our own specification
    _strip(root)
    root.set("width", "100%")
    ElementTree.register_namespace("", _SVG.strip("{}"))
    return ElementTree.tostring(root, encoding="unicode")


def _strip(element: ElementTree.Element) -> None:
    """Take out frames that show nothing and attributes that say nothing."""
    for child in list(element):
        _strip(child)
        frame = child.get("class") in ("background", "foreground") and not {"fill", "stroke"} & set(child.keys())
        if frame or (child.tag == f"{_SVG}g" and not len(child)):
            element.remove(child)
    for name, value in list(element.items()):
        idle = name in _DROPPED or name.startswith("aria-") or (name == "opacity" and value == "1")
        if idle and not (name in ("width", "height") and element.tag == f"{_SVG}rect"):
            del element.attrib[name]
