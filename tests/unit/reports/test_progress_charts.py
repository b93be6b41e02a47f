"""The charts of progress: each agrees with Vega-Lite's schema, says what it shows, and draws what it was given."""

import re
from datetime import date, timedelta

import altair as alt
import pytest

from pupilage.core.evaluation.celeration import DayRate, celerate
from pupilage.core.progress.course import Evening, StepChance
from pupilage.core.progress.days import DayLine
from pupilage.core.progress.passing import PassChance
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.thresholds.plane import Plane, PlaneCell
from pupilage.reports.charts.celeration import draw_celeration
from pupilage.reports.charts.chart import Chart, kept
from pupilage.reports.charts.goals import _draw
from pupilage.reports.charts.plane import FAINTEST, draw_plane
from pupilage.reports.charts.progress import draw_held, draw_latency, draw_rewards, draw_way
from pupilage.reports.charts.svg import svg_of

FIRST = date(2026, 3, 2)
"""A Monday."""


def on(n: int) -> date:
    return FIRST + timedelta(days=n)


def chance(p: float) -> StepChance:
    return StepChance(p, p - 0.1, p + 0.1)


def line(n: int, step: str = "a", **changes: object) -> DayLine:
    return DayLine(**{**DayLine(on(n), step, 8, 6, 0, 1.0 + n, 5.0 * n, 1.0, 6, 2, 6 + n).__dict__, **changes})


EVENINGS = tuple(Evening(on(n), (chance(0.3 + 0.1 * n), chance(0.2 + 0.1 * n))) for n in (0, 1, 4))
DAYS = (line(0), line(1), line(4, "b"))
CELLS = (PlaneCell(1.0, 0.0, 0.9, 0.85, 0.93, 12), PlaneCell(1.0, 2.0, 0.5, 0.05, 0.95, 0))
PLANE = Plane(Dimension.DURATION, Dimension.DISTRACTION, (1.0,), (0.0, 2.0), CELLS)
TITLES = {Dimension.DURATION: "How long", Dimension.DISTRACTION: "How distracting"}
MET = tuple(DayRate(on(n), 4 + n, 2.0) for n in range(8))
MISSED = tuple(DayRate(on(n), max(0, 3 - n), 2.0) for n in range(8))


def drawn(chart: Chart | None) -> str:
    assert chart is not None
    kind = alt.LayerChart if "layer" in chart.spec else alt.Chart
    kind.from_dict(dict(chart.spec), validate=True)
    assert str(chart.says).strip()
    return svg_of(chart)


def texts(svg: str) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", svg)


def test_way_is_that_of_todays_step_and_names_the_steps_below() -> None:
    chart = draw_way(EVENINGS, DAYS, ("a", "b"), 1)
    assert {"1", "2", "100\N{NO-BREAK SPACE}%"} <= set(texts(drawn(chart)))
    assert chart is not None
    assert "20" in str(chart.says)
    assert "60" in str(chart.says)


def test_one_evening_is_drawn_and_said() -> None:
    chart = draw_way(EVENINGS[:1], DAYS[:1], ("a", "b"), 0)
    drawn(chart)
    assert chart is not None
    assert "fits the record" in str(chart.says)


def test_without_an_evening_nothing_is_drawn() -> None:
    assert draw_way((), (), ("a",), 0) is None
    assert draw_celeration((), (), (None, None)) is None


def test_paces_need_two_days_and_say_the_first_and_the_last() -> None:
    for draw, word in (
        (draw_latency, "5\N{NO-BREAK SPACE}s on 6 Mar"),
        (draw_held, "was 20"),
        (draw_rewards, "10 on 6 Mar"),
    ):
        assert draw(DAYS[:1]) is None
        chart = draw(DAYS)
        drawn(chart)
        assert chart is not None
        assert word in str(chart.says)


def test_days_without_the_figure_are_left_out() -> None:
    bare = tuple(line(n, latency_s=None, held_s=None, minutes=None) for n in range(3))
    assert [draw(bare) for draw in (draw_latency, draw_held, draw_rewards)] == [None, None, None]


def test_map_fades_with_what_is_not_known_and_frames_what_was_tried() -> None:
    chart = draw_plane(PLANE, TITLES)
    svg = drawn(chart)
    (values,) = chart.spec["datasets"].values()
    shown = [(one["y"], one["opacity"], one["n"]) for one in values]
    assert shown == [("0 of 5", 1.0, 12), ("2 of 5", pytest.approx(FAINTEST, abs=0.03), 0)]
    assert "How distracting" in texts(svg)
    assert "1 of 2 pairs" in str(chart.says)


def test_goals_stand_under_each_other_with_both_chances() -> None:
    both = PassChance(0.4, 0.2, 0.6), PassChance(0.8, 0.7, 0.9)
    chart = _draw((("Sits", *both), ("جلوس 🐾", *both), ("x" * 60, *both)), 4)
    names = texts(drawn(chart))
    assert {"Sits", "جلوس 🐾"} <= set(names)
    assert max(len(name) for name in names) <= 42
    assert "today: 0 of 4" in str(chart.says)


def test_celeration_has_its_lines_mondays_and_a_sentence() -> None:
    svg = drawn(draw_celeration(MET, MISSED, (celerate(MET), celerate(MISSED))))
    assert "1" in texts(svg)
    few = draw_celeration(MET[:2], MISSED[:2], (None, None))
    drawn(few)
    assert few is not None
    assert "has 2 of 5 days" in str(few.says)


def test_same_chart_is_not_put_together_again_except_in_another_language() -> None:
    from django.utils.translation import override

    calls = []

    @kept
    def draw(n: int, *, also: int = 0) -> tuple[int, int]:
        calls.append(n)
        return n, also

    assert [draw(1), draw(1), draw(2)] == [(1, 0), (1, 0), (2, 0)]
    assert calls == [1, 2]
    with override("de"):
        draw(1)
    assert calls == [1, 2, 1]
