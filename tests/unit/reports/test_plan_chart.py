"""The drawing of a plan's phases: every phase named, nothing off the paper, one sentence that says how sure it is."""

import json
from datetime import date, timedelta

from pupilage.core.incidents.comparison import compare
from pupilage.core.incidents.days import DayCount
from pupilage.core.incidents.phases import PhaseKind, PlanPhase, split_phases
from pupilage.core.incidents.plan_answers import PlanAnswers
from pupilage.reports.charts.plan import draw_plan
from pupilage.reports.charts.svg import svg_of

FIRST = date(2026, 5, 4)


def answers_of(counts, *phases, hours=8.0):
    days = [DayCount(FIRST + timedelta(days=i), n, hours) for i, n in enumerate(counts)]
    split = split_phases(days, phases, today=days[-1].day)
    newest = split[1] if len(split) > 1 else None
    compared = compare(split[0].days, newest.days) if newest else None
    return PlanAnswers(tuple(split), 0, newest=newest, comparison=compared)


def records(chart):
    return [one for values in chart.spec["datasets"].values() for one in values]


def on(day, kind=PhaseKind.PLAN):
    return PlanPhase(FIRST + timedelta(days=day), kind)


def test_every_phase_has_its_mean_its_band_and_its_name():
    chart = draw_plan(answers_of([4, 3, 4, 3, 1, 1, 0, 1, 2, 2], on(4), on(6), on(8, PhaseKind.ENDED)))
    drawn = svg_of(chart)
    for name in ("plan", "changed", "ended"):
        assert f">{name}<" in drawn
    means = [one for one in records(chart) if "low" in one]
    assert {round(one["rate"], 2) for one in means} == {4.38, 1.25, 0.62, 2.5}
    assert all(one["low"] <= one["rate"] <= one["high"] for one in means)


def test_days_with_a_plan_are_full_dots_and_the_others_open():
    dots = [one for one in records(draw_plan(answers_of([4, 3, 1, 0], on(2)))) if "full" in one]
    assert [one["full"] for one in dots[:4]] == [False, False, True, True]


def test_band_of_a_short_phase_stays_on_the_paper():
    chart = draw_plan(answers_of([4, 3, 4, 0], on(3)))
    axes = [layer["encoding"]["y"] for layer in chart.spec["layer"] if "y" in layer["encoding"]]
    top = max(axis["scale"]["domain"][1] for axis in axes if "scale" in axis)
    assert all(one["high"] <= top for one in records(chart) if "high" in one)


def test_it_says_how_sure_it_is_or_that_there_is_nothing_to_compare():
    said = str(draw_plan(answers_of([4, 3, 4, 3, 1, 0, 0, 1], on(4))).says)
    assert "0.14 times as often as before any; " in said
    assert "fit the record" in said
    assert "times as often" not in str(draw_plan(answers_of([4, 3, 4])).says)
    assert "times as often" not in str(draw_plan(answers_of([0, 0, 0, 1], on(3))).says)


def test_under_three_watched_days_there_is_no_drawing_and_days_without_incidents_have_one():
    assert draw_plan(answers_of([4, 3])) is None
    assert svg_of(draw_plan(answers_of([0, 0, 0])))


def test_day_watched_for_minutes_is_no_dot_and_stretches_no_axis():
    chart = draw_plan(answers_of([1, 1, 1], hours=0.1))
    assert not [one for one in records(chart) if "full" in one]
    assert json.dumps(chart.spec).count("NaN") == 0
