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


def two_weeks(*, n_known=8, n_signs=3, from_day=6.0, n_between=0):
    """The first 14 days before the last, then one with a sign `from_day`, the rest between that and day 13."""
    latest = [on(7 + i, 30.0, Sign.WHINING if i < n_signs else Sign.NONE) for i in range(n_known - 1 - n_between)]
    return [on(-1, 5.0), on(from_day, 3000.0, Sign.WHINING), *latest[:-1], on(13, 30.0, latest[-1].sign)]


def is_stuck(record):
    return read_growth(record, zone=UTC).is_stuck


def test_eight_absences_and_three_signs_of_the_last_week_name_two_weeks_without_progress():
    """The one of exactly 14 days before is of no week; that of exactly seven days before is of the earlier one."""
    assert is_stuck(two_weeks())
    assert not is_stuck(two_weeks(n_known=7))
    assert not is_stuck(two_weeks(n_signs=2))
    assert not is_stuck(two_weeks(from_day=6.001))


def test_an_absence_of_the_week_before_last_is_weighed_however_early_in_it():
    assert is_stuck(two_weeks(from_day=-0.9))


def test_it_takes_a_record_of_thirteen_days():
    assert is_stuck([on(day, 30.0, Sign.WHINING) for day in range(14)])
    assert not is_stuck([on(day * 12.9 / 13, 30.0, Sign.WHINING) for day in range(14)])


def test_signs_a_second_alone_that_hardly_fell_are_progress_all_the_same():
    """Half a per cent longer until each sign: no longer as soon, and not stuck; half a per cent shorter is."""

    def record(seconds):
        return [on(day, 1000.0 if day < 7 else seconds, Sign.WHINING) for day in range(14)]

    assert not is_stuck(record(1005.0))
    assert is_stuck(record(1000.0))


def two_thin_weeks(n_first=5, n_latest=5, n_signs=3, gap_days=14.0):
    first = [on(i, 20.0, Sign.WHINING if i < n_signs else Sign.NONE) for i in range(n_first)]
    return [*first, *(on(gap_days - i, 20.0) for i in reversed(range(n_latest)))]


def test_five_absences_in_each_week_and_three_signs_are_compared_where_the_weeks_only_touch():
    assert read_growth(two_thin_weeks(), zone=UTC).stretches is not None
    assert read_growth(two_thin_weeks(n_first=4), zone=UTC).stretches is None
    assert read_growth(two_thin_weeks(n_latest=4), zone=UTC).stretches is None
    assert read_growth(two_thin_weeks(n_signs=2), zone=UTC).stretches is None
    assert read_growth(two_thin_weeks(gap_days=13.9), zone=UTC).stretches is None
