"""How the calm time grows: days, two stretches, and what is said of them."""

from datetime import UTC, datetime, timedelta

from pupilage.core.incidents.alone import Absence, Sign, read_calm
from pupilage.core.incidents.growth import read_growth, say_curve
from pupilage.core.incidents.survival import Wait, compare_waits, survival_of

START = datetime(2026, 5, 1, 8, tzinfo=UTC)


def on(day, seconds, sign=Sign.NONE, hour=0):
    return Absence(START + timedelta(days=day, hours=hour), seconds, sign)


def weeks(first, latest):
    """Six absences in the first week and six in the third: (seconds, sign) of each week."""
    return [on(i, *first) for i in range(6)] + [on(15 + i, *latest) for i in range(6)]


def test_each_day_reads_all_up_to_its_end():
    record = [on(0, 20.0), on(0, 30.0, hour=2), on(1, 25.0, Sign.WHINING)]
    first, second = read_growth(record[::-1], zone=UTC).days
    assert (first.n, first.n_signs, first.longest_calm_s) == (2, 0, 30.0)
    assert (second.n, second.n_signs, second.longest_calm_s) == (1, 1, None)
    assert first.calm == read_calm(record[:2])
    assert second.calm == read_calm(record)


def test_no_absence_has_no_growth_and_says_nothing():
    growth = read_growth([], zone=UTC)
    assert (growth.days, growth.stretches, growth.says, growth.is_stuck) == ((), None, (), False)


def test_longer_calm_in_the_latest_week_is_said_with_its_p():
    record = weeks((20.0, Sign.WHINING), (600.0, Sign.NONE))
    growth = read_growth(record, zone=UTC)
    _, p = compare_waits([Wait(20.0, True)] * 6, [Wait(600.0, False)] * 6)
    assert growth.stretches.longer
    assert growth.stretches.p == p
    assert "calm for longer in the latest week" in str(growth.says[1])


def test_shorter_calm_is_said_as_plainly():
    growth = read_growth(weeks((600.0, Sign.NONE), (20.0, Sign.WHINING)), zone=UTC)
    assert "calm for less time in the latest week" in str(growth.says[1])


def test_two_weeks_alike_show_no_difference():
    growth = read_growth(weeks((20.0, Sign.WHINING), (20.0, Sign.WHINING)), zone=UTC)
    assert "no difference shows yet" in str(growth.says[1])


def test_thin_weeks_are_not_compared():
    growth = read_growth([on(0, 20.0), on(16, 30.0, Sign.BARKING)], zone=UTC)
    assert growth.stretches is None
    assert "cannot be compared yet" in str(growth.says[1])


def test_two_weeks_without_progress_are_named():
    stuck = [on(day, 30.0, Sign.WHINING) for day in range(22)]
    assert read_growth(stuck, zone=UTC).is_stuck
    assert not read_growth(stuck[:10], zone=UTC).is_stuck
    assert not read_growth([on(day, 30.0 * 1.2**day) for day in range(22)], zone=UTC).is_stuck


def test_curve_speaks_only_of_times_that_five_absences_reached():
    waits = [Wait(10.0, True), *[Wait(s, False) for s in (20.0, 30.0, 40.0, 50.0, 60.0)], Wait(300.0, True)]
    said = str(say_curve(survival_of(waits), waits))
    assert said.startswith("86\N{NO-BREAK SPACE}% stayed calm for 30 s (95 % limits")
    calm = [Wait(s, False) for s in (20.0, 30.0, 40.0, 50.0, 60.0)]
    assert str(say_curve(survival_of(calm), calm)).startswith("No sign within 20 s so far")
    assert str(say_curve(survival_of(calm[:2]), calm[:2])).startswith("Not enough yet")
