"""Two codings as two rows of marks on one line of time: places for a small SVG, made on the server."""

from dataclasses import dataclass

from pupilage.core.evaluation.comparison import Comparison
from pupilage.core.evaluation.talking_over import show_moment

WIDTH, HEIGHT = 340, 118
LEFT, RIGHT = 16, 16
ROWS_Y = (34, 78)
AXIS_Y = 96
TICKS = 4
SIGNS = {"met": "|", "missed": "–", "helped": "h", "void": "v"}
"""As on the session's screen; another word stands with its first letter."""


@dataclass(frozen=True)
class DrawnMoment:
    """A moment: where each person's sign stands (None without one), and whether they differ."""

    x: float
    one: str
    other: str
    differs: bool


@dataclass(frozen=True)
class CodingDrawing:
    """All that a template needs to draw two codings."""

    width: int
    height: int
    left: int
    right: int
    rows: tuple[int, int]
    axis_y: int
    moments: tuple[DrawnMoment, ...]
    ticks: tuple[tuple[float, str], ...]


def draw_codings(found: Comparison) -> CodingDrawing:
    """Return the drawing of a comparison."""

    def place(time_s: float) -> float:
        share = min(1.0, max(0.0, time_s / found.compared_s))
        return round(LEFT + (WIDTH - LEFT - RIGHT) * share, 1)

    moments = tuple(
        DrawnMoment(
            place(pair.time_s),
            _sign(pair.one.code) if pair.one else "",
            _sign(pair.other.code) if pair.other else "",
            not pair.is_same,
        )
        for pair in found.moments
    )
    times = [found.compared_s * n / TICKS for n in range(TICKS + 1)]
    ticks = tuple((place(time_s), show_moment(time_s)) for time_s in times)
    return CodingDrawing(WIDTH, HEIGHT, LEFT, WIDTH - RIGHT, ROWS_Y, AXIS_Y, moments, ticks)


def _sign(code: str) -> str:
    return SIGNS.get(code, code[:1])
