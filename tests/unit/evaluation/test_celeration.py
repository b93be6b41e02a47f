"""Celeration: what is refused, what is too little, and a day without a count."""

from datetime import date, timedelta

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.celeration import DayRate, celerate, change_a_week, say_celeration

MONDAY = date(2026, 3, 2)


def day(n: int, count: int, minutes: float = 5.0) -> DayRate:
    return DayRate(MONDAY + timedelta(days=n), count, minutes)


def test_four_days_are_not_enough_and_the_sentence_says_so() -> None:
    few = [day(n, 10) for n in range(4)]
    assert celerate(few) is None
    assert str(say_celeration(None, 4)) == "Not enough yet for a line: has 4 of 5 days with a count."


def test_day_without_a_count_stands_at_half_of_the_least_that_could_be_counted() -> None:
    assert day(0, 0, 4.0).floor == 0.25
    assert day(0, 0, 4.0).per_min == 0.125
    assert day(0, 1, 4.0).per_min == 0.25


def test_no_change_at_all_is_said_without_certainty_of_a_change() -> None:
    found = celerate([day(n, 10 + n % 2) for n in range(8)])
    assert found is not None
    assert found.per_week.low < 1.0 < found.per_week.high
    assert "no change among it" in str(say_celeration(found, 8))


def test_same_count_every_day_has_a_factor_of_one() -> None:
    found = celerate([day(n, 10) for n in range(8)])
    assert found is not None
    assert (found.per_week.value, found.robust.value) == pytest.approx((1.0, 1.0))


def test_order_of_the_days_does_not_matter() -> None:
    days = [day(n, 5 + 3 * n) for n in range(7)]
    assert celerate(days) == celerate(days[::-1])


@pytest.mark.parametrize("wrong", [[day(0, 1), day(0, 2)], [day(0, 1, 0.0)], [day(0, -1)], [day(0, 1, float("nan"))]])
def test_impossible_days_are_refused(wrong: list[DayRate]) -> None:
    with pytest.raises(InvalidInput):
        celerate(wrong)


def test_change_from_nothing_is_refused() -> None:
    with pytest.raises(InvalidInput):
        change_a_week(0.0, 5.0, 7)
