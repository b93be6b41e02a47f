from datetime import UTC, datetime, timedelta
from math import inf, log

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.next_record import Pace, Worth, information, rank_next, say_next
from pupilage.core.incidents.record import LASTING, Before, Incident
from pupilage.core.incidents.stretches import Stretch

START = datetime(2026, 5, 4, 6, tzinfo=UTC)


def days(n, hours=10.0):
    return [Stretch(START + timedelta(days=d), START + timedelta(days=d, hours=hours)) for d in range(n)]


def incident(day, *before, **more):
    return Incident(f"{day}", "counter-stealing", START + timedelta(days=day, hours=1), before=before, **more)


def rank(incidents, present, n_days=10):
    pace = Pace(sum(one.happened for one in incidents), 10.0 * n_days, n_days)
    return rank_next(incidents, free=days(n_days), present=present, pace=pace), pace


def every(share, n_days=10):
    return {before: days(n_days, 10.0 * share) for before in LASTING}


def test_information_is_the_inverse_variance_of_the_log_ratio_by_simulation():
    """20,000 stays of 400 incidents expected, a quarter of the time with it: the sd of the variance is below 1 %."""
    rng = np.random.default_rng(5)
    n_with, n_without = rng.poisson(100, 20_000), rng.poisson(300, 20_000)
    ratios = np.log(n_with / n_without) + log(3.0)
    assert 1.0 / ratios.var() == pytest.approx(information(400, 0.25), rel=0.04)


def test_information_is_most_at_half_of_the_time_and_none_at_the_ends():
    assert information(8, 0.5) == 2.0
    assert information(8, 0.0) == information(8, 1.0) == 0.0
    with pytest.raises(InvalidInput):
        information(8, 1.2)


def test_what_nobody_tapped_comes_before_what_is_known_already():
    present = every(0.15)
    present[Before.VISITOR] = []
    found, _ = rank([incident(d) for d in range(8)], present)
    assert found[0].before is Before.VISITOR
    assert found[0].is_missing


def test_among_the_missing_what_was_ticked_most_comes_first():
    found, _ = rank([incident(0, Before.IN_REACH), incident(1, Before.IN_REACH, Before.BUSY), incident(2)], {})
    assert [one.before for one in found[:2]] == [Before.IN_REACH, Before.BUSY]


def test_of_those_tapped_alike_half_of_the_time_tells_most():
    present = every(0.05)
    present[Before.BUSY] = days(10, 5.0)
    found, _ = rank([incident(d) for d in range(8)], present)
    assert found[0].before is Before.BUSY


def test_recording_for_the_days_it_names_halves_the_standard_deviation():
    present = every(0.5)
    found, pace = rank([incident(d) for d in range(8)], present)
    first = found[0]
    before = 1.0 + information(8, 0.5)
    after = before + information(first.days_to_halve * pace.a_day, 0.5)
    assert after == pytest.approx(4.0 * before)
    assert first.gain == pytest.approx(0.5 * log(1.0 + information(7 * pace.a_day, 0.5) / before))


def test_three_incidents_say_what_to_tap_and_how_long_it_takes():
    found, pace = rank([incident(d, Before.IN_REACH) for d in range(3)], {})
    said = [str(one) for one in say_next(found, pace)]
    assert said[0] == "Next, tap when food or things come into reach, and when they are put away."
    assert "put away what you suspect now" in said[1]
    assert said[2] == "Until a cause can be told at the soonest: 2 more incidents, at this pace about 6 days."


def test_a_pace_that_can_wait_names_the_days():
    found, pace = rank([incident(d % 10) for d in range(60)], {})
    assert "in about 4 days its range is half as wide" in str(say_next(found, pace)[1])


def test_without_a_log_only_the_tap_is_asked_for():
    found = rank_next([incident(0)], free=[], present={}, pace=Pace(0, 0.0, 0))
    assert len(say_next(found, Pace(0, 0.0, 0))) == 1


def test_always_left_gives_no_comparison_by_occasion():
    found, _ = rank([incident(d, Before.BELL, left_it=True) for d in range(4)], {})
    assert next(one for one in found if one.before is Before.BELL).n_to_halve == inf


def test_impossible_counts_are_refused():
    with pytest.raises(InvalidInput):
        Pace(-1, 0.0, 0)


def of(found, before):
    return next(one for one in found if one.before is before)


def test_what_was_never_noted_is_judged_by_the_stated_guesses():
    """Nothing left written down: one left for each incident, and the bell on 15 % of the occasions."""
    found, pace = rank([incident(d) for d in range(8)], {})
    each = 0.5 * 0.5 * 0.15 * 0.85
    bell, busy = of(found, Before.BELL), of(found, Before.BUSY)
    assert (bell.is_missing, busy.is_missing) == (True, True)
    assert bell.n_to_halve == pytest.approx(3.0 / each)
    assert bell.days_to_halve == pytest.approx(3.0 / each / (2 * 0.85))
    assert bell.gain == pytest.approx(0.5 * log(1.0 + 7 * 2 * 0.85 * each))
    assert (pace.a_day, busy.n_to_halve) == pytest.approx((0.85, 3.0 / (0.15 * 0.85)))


def test_occasions_tell_by_the_shares_that_were_written_down():
    """16 occasions in ten days, 4 left, the bell at 10: p = 3/4, s = 5/8, by hand."""
    happened = [incident(d % 10, *([Before.BELL] if d < 8 else [])) for d in range(12)]
    left = [incident(d, *([Before.BELL] if d < 2 else []), left_it=True) for d in range(4)]
    bell = of(rank([*happened, *left], {})[0], Before.BELL)
    each = 3 / 4 * 1 / 4 * 5 / 8 * 3 / 8
    precision, a_day = 1.0 + 16 * each, 12.5 / 10 / (3 / 4)
    assert not bell.is_missing
    assert bell.n_to_halve == pytest.approx(3.0 * precision / each)
    assert bell.days_to_halve == pytest.approx(3.0 * precision / each / a_day)
    assert bell.gain == pytest.approx(0.5 * log(1.0 + 7 * a_day * each / precision))


def test_near_misses_are_occasions_too_and_come_as_often_as_they_did():
    def record(n_near):
        went = [incident(d, *([Before.BELL] if d % 2 else []), near_miss=d < n_near) for d in range(8)]
        return [*went, *(incident(d, *([Before.BELL] if d % 2 else []), left_it=True) for d in range(8))]

    some, none = (of(rank(record(n_near), {})[0], Before.BELL) for n_near in (6, 0))
    assert (some.gain, some.days_to_halve) == pytest.approx((none.gain, none.days_to_halve))


def test_a_tenth_of_an_hour_on_either_side_is_compared_and_less_is_missing():
    ten_hours = {Before.VISITOR: days(1, 0.1), Before.BUSY: days(1, 0.099), Before.UNWATCHED: days(1, 9.9005)}
    found, _ = rank([incident(0)], ten_hours, n_days=1)
    assert [of(found, before).is_missing for before in ten_hours] == [False, True, True]


@pytest.mark.parametrize(("days_to_halve", "word"), [(60.0, "in about 60 days"), (60.3, "too short to wait")])
def test_sixty_days_is_the_longest_that_is_waited_for(days_to_halve, word):
    first = Worth(Before.BELL, 0.1, days_to_halve, 9.0, is_missing=True, n_ticked=0)
    assert word in str(say_next([first], Pace(9, 10.0, 5))[1])


@pytest.mark.parametrize(("n", "is_said"), [(0, False), (1, True), (4, True), (5, False)])
def test_how_many_more_a_cause_takes_is_said_from_the_first_to_the_fourth(n, is_said):
    first = Worth(Before.BELL, 0.1, 9.0, 9.0, is_missing=True, n_ticked=0)
    said = [str(one) for one in say_next([first], Pace(n, 10.0, 5))]
    assert any("Until a cause can be told" in one for one in said) is is_said


def test_no_incidents_tell_nothing():
    assert information(0, 0.5) == 0.0


def test_days_until_a_cause_can_be_told_are_those_of_the_pace():
    """One in 45 days: (1 + ½)/45 a day, so that the four that are missing take 120 days."""
    first = Worth(Before.BELL, 0.1, 9.0, 9.0, is_missing=True, n_ticked=0)
    assert "4 more incidents, at this pace about 120 days" in str(say_next([first], Pace(1, 10.0, 45))[-1])


def test_a_share_above_one_is_refused():
    with pytest.raises(InvalidInput):
        information(8, 1.005)
