"""The drawing of what was kept: the forecast's band, and a dot for each week with entries enough."""

import json

import altair as alt

from pupilage.core.handover.kept import DAYS_DRAWN, curve_of
from pupilage.core.training.posterior.reading import Reading, middles
from pupilage.reports.charts.kept import draw_kept
from pupilage.reports.charts.svg import svg_of


def reading(mean):
    p = middles()
    density = p ** (10 * mean) * (1 - p) ** (10 * (1 - mean))
    mass = density / density.sum()
    return Reading(float(mass @ p), mass=mass)


READINGS = [reading(0.9 - 0.005 * day) for day in DAYS_DRAWN]
TOLD = [(1, True), (2, True), (5, False), (15, True), (16, True), (17, True), (18, False), (22, True), (70, True)]


def test_weeks_are_counted_from_the_hand_over_and_only_as_far_as_is_drawn():
    curve = curve_of(READINGS, TOLD)
    assert [(one.week, one.n_met, one.n) for one in curve.told] == [(0, 2, 3), (2, 3, 4), (3, 1, 1)]
    assert all(low < p < high for low, p, high in zip(curve.low, curve.p, curve.high, strict=True))


def test_week_with_too_few_entries_has_no_dot_but_is_counted_in_the_sentence():
    chart = draw_kept("Sits on cue", curve_of(READINGS, TOLD))
    text = json.dumps(chart.spec)
    assert '"2/3"' in text
    assert '"3/4"' in text
    assert '"1/1"' not in text
    assert "6 of 8 in all" in str(chart.says)


def test_nothing_is_drawn_before_a_week_has_three_entries():
    assert draw_kept("Sits on cue", curve_of(READINGS, TOLD[:2])) is None
    assert draw_kept("Sits on cue", curve_of(READINGS, [])) is None


def test_specification_is_valid_and_is_drawn():
    chart = draw_kept("Sits on cue", curve_of(READINGS, TOLD))
    alt.LayerChart.from_dict(dict(chart.spec))
    assert "<path" in svg_of(chart)
