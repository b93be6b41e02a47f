"""The map of two dimensions: the larger a square, the surer the try; the fainter, the less is known of it."""

from collections.abc import Mapping
from typing import Any

import altair as alt
from django.utils.translation import gettext

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.thresholds.plane import Plane, PlaneCell
from pupilage.core.words import Sentence, sentence
from pupilage.reports.charts.chart import Chart, kept
from pupilage.reports.charts.style import INK, finish, rows
from pupilage.reports.thresholds import show_amount

CELL_PX = 44
FAINTEST = 0.12
"""A square that nobody knows anything of is still to be seen on a phone in the sun."""

SURE = 0.8


def draw_plane(plane: Plane, titles: Mapping[Dimension, str]) -> Chart:
    """Return the map; a frame stands where something was tried. titles: a word for each dimension."""
    return _draw(plane, titles[plane.x], titles[plane.y])


@kept
def _draw(plane: Plane, x_title: str, y_title: str) -> Chart:
    x_names = [_named(plane.x, value) for value in plane.x_values]
    y_names = [_named(plane.y, value) for value in plane.y_values]
    base = alt.Chart(rows([_cell(plane, cell) for cell in plane.cells])).encode(
        x=alt.X("x:O", sort=x_names, title=x_title, axis=alt.Axis(labelAngle=0, ticks=False, domain=False)),
        y=alt.Y("y:O", sort=y_names[::-1], title=y_title, axis=alt.Axis(titleY=-4)),
    )
    opacity = alt.Opacity("opacity:Q", scale=None)
    layers = [
        base.mark_square().encode(size=alt.Size("size:Q", scale=None, legend=None), opacity=opacity),
        base.transform_filter("datum.n > 0").mark_point(
            shape="square", filled=False, color=INK, strokeWidth=1.5, size=(CELL_PX - 6) ** 2
        ),
    ]
    return Chart(finish(alt.layer(*layers), height_px=60 + CELL_PX * len(y_names)), says_plane(plane))


def _cell(plane: Plane, cell: PlaneCell) -> dict[str, Any]:
    side = (CELL_PX - 12) * cell.p
    return {
        "x": _named(plane.x, cell.x),
        "y": _named(plane.y, cell.y),
        "n": cell.n,
        "size": round(side * side, 1),
        "opacity": round(FAINTEST + (1.0 - FAINTEST) * cell.sharpness, 3),
    }


def _named(dimension: Dimension, value: float) -> str:
    return show_amount(dimension, value, {place: place.value for place in Place})


def says_plane(plane: Plane) -> Sentence:
    """Return what the map shows, and how much of it was tried."""
    sure = [cell for cell in plane.cells if cell.p >= SURE]
    figures = {"sure": len(sure), "all": len(plane.cells), "tried": plane.n_tried}
    if not sure:
        return sentence(
            "Of {all} pairs none should be met eight times in ten yet; {tried}, framed, were tried. A square grows with"
            " the chance and fades with what is not known.",
            **figures,
        )
    hardest = max(sure, key=lambda cell: (plane.x_values.index(cell.x) + plane.y_values.index(cell.y), cell.p))
    return sentence(
        "{sure} of {all} pairs should be met eight times in ten or more, up to {x} with {y}; {tried}, framed, were"
        " tried. A square grows with the chance and fades with what is not known.",
        x=_named(plane.x, hardest.x),
        y=_titled(plane, hardest),
        **figures,
    )


def _titled(plane: Plane, cell: PlaneCell) -> str:
    amount = _named(plane.y, cell.y)
    return gettext("distraction {amount}").format(amount=amount) if plane.y is Dimension.DISTRACTION else amount
