"""The drawing of the chance of an accident as time goes on: paths for a small SVG, made on the server."""

from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.care.toilet.curve import Doing
from pupilage.core.care.toilet.reading import CurveLine

WIDTH, HEIGHT = 340, 200
LEFT, RIGHT, TOP, BOTTOM = 40, 12, 12, 30
TICKS_MIN = (0, 60, 120, 180, 240, 300)
TICKS_P = (0.0, 0.05, 0.10, 0.15, 0.20)
MOST_MIN, MOST_P = 300.0, 0.22
DASHES = {Doing.AWAKE: "", Doing.RESTING: "7 4", Doing.NIGHT: "2 4"}


@dataclass(frozen=True)
class DrawnLine:
    """A line: the path's `d`, how it is dashed, and where its name stands."""

    doing: Doing
    path: str
    dashes: str
    x: float
    y: float


@dataclass(frozen=True)
class OutingDrawing:
    """All that a template needs to draw the curve. x ticks in hours, y ticks as chances; risk_y: the chosen risk."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    lines: tuple[DrawnLine, ...]
    hours: tuple[tuple[float, int], ...]
    chances: tuple[tuple[float, int], ...]
    risk_y: float


def draw_curve(curve: Sequence[CurveLine], risk: float) -> OutingDrawing:
    """Return the drawing of the chances while awake, resting and at night."""
    return OutingDrawing(
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=WIDTH - RIGHT,
        top=TOP,
        bottom=HEIGHT - BOTTOM,
        lines=tuple(_line(one) for one in curve),
        hours=tuple((_x(minutes), minutes // 60) for minutes in TICKS_MIN),
        chances=tuple((_y(p), round(100 * p)) for p in TICKS_P),
        risk_y=_y(risk),
    )


def _line(one: CurveLine) -> DrawnLine:
    points: list[tuple[float, float]] = []
    for minutes, p in one.points:
        if p > MOST_P:
            before_min, before_p = one.points[len(points) - 1]
            edge = before_min + (minutes - before_min) * (MOST_P - before_p) / (p - before_p)
            points.append((_x(edge), _y(MOST_P)))
            break
        points.append((_x(minutes), _y(p)))
    path = "M" + " L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    x, y = points[-1]
    return DrawnLine(one.doing, path, DASHES[one.doing], x, y)


def _x(minutes: float) -> float:
    return round(LEFT + (WIDTH - LEFT - RIGHT) * minutes / MOST_MIN, 1)


def _y(p: float) -> float:
    return round(HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * min(p, MOST_P) / MOST_P, 1)
