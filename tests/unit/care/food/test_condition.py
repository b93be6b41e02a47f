"""How the weekly weighing and the body condition move the ration."""

from datetime import UTC, date, datetime, timedelta

import pytest

from pupilage.core.care.food.condition import MOST_CUT, MOST_RAISE, move_ration, not_due
from pupilage.core.care.food.growth import Weighing
from pupilage.core.errors import InvalidInput

NOW = datetime(2026, 5, 12, 8, 0, tzinfo=UTC)


def weighed(*scores):
    """A weighing a week with these scores, the last one today."""
    n = len(scores)
    return [Weighing(NOW - timedelta(weeks=n - 1 - i), 4.0 + 0.5 * i, score) for i, score in enumerate(scores)]


@pytest.mark.parametrize(("score", "grams"), [(3, 210), (4, 200), (5, 200), (6, 190), (None, 200)])
def test_condition_moves_the_ration_by_five_percent(score, grams):
    assert move_ration(200, weighed(score)).daily_g == pytest.approx(grams)


@pytest.mark.parametrize("need", [0.2, 0.8, 0.97, 1.0, 1.1, 1.4, 3.0])
@pytest.mark.parametrize("score", [None, *range(1, 10)])
def test_no_week_takes_more_than_a_twentieth_or_gives_more_than_fifteen_percent(need, score):
    move = move_ration(200, weighed(score), need_factor=need)
    assert 1 - MOST_CUT - 1e-9 <= move.factor <= 1 + MOST_RAISE + 1e-9


def test_thin_pup_is_never_cut_and_heavy_one_never_raised():
    assert move_ration(200, weighed(3), need_factor=0.7).factor == pytest.approx(1.05)
    assert move_ration(200, weighed(6), need_factor=1.3).factor == pytest.approx(0.95)


def test_ration_follows_growth_and_what_a_week_keeps_back_is_left_for_the_next():
    grown = move_ration(200, weighed(4), need_factor=1.12)
    assert (grown.daily_g, grown.left) == (pytest.approx(224), pytest.approx(1.0))
    less = move_ration(200, weighed(4), need_factor=0.8333)
    assert less.factor == pytest.approx(0.95)
    assert less.factor * less.left == pytest.approx(0.8333)


def test_outside_the_ideal_twice_sends_to_the_veterinarian():
    assert move_ration(200, weighed(6)).veterinarian is None
    assert move_ration(200, weighed(6, 5)).veterinarian is None
    assert "twice (6 and 6 of 9)" in str(move_ration(200, weighed(6, 6)).veterinarian)
    assert "twice (3 and 6 of 9)" in str(move_ration(200, weighed(3, 6)).veterinarian)


def test_two_scores_of_one_day_are_not_two():
    twice = [Weighing(NOW - timedelta(hours=1), 4.0, 6), Weighing(NOW, 4.0, 6)]
    assert move_ration(200, twice).veterinarian is None


@pytest.mark.parametrize("score", [1, 2, 8, 9])
def test_scores_far_off_send_to_the_veterinarian_at_once(score):
    assert "see the veterinarian" in str(move_ration(200, weighed(score)).veterinarian)


@pytest.mark.parametrize("wrong", [0, 10, 4.5, -3])
def test_score_that_is_none_is_refused(wrong):
    with pytest.raises(InvalidInput, match="from 1"):
        move_ration(200, weighed(wrong))


@pytest.mark.parametrize("grams", [0, -10, float("nan"), float("inf")])
def test_grams_that_cannot_be_are_refused(grams):
    with pytest.raises(InvalidInput):
        move_ration(grams, [])


def test_ration_moves_once_a_week_and_after_a_weighing():
    today = date(2026, 5, 12)
    assert "Weigh it first" in str(not_due(None, None, today))
    assert "Weigh it first" in str(not_due(today - timedelta(days=7), today - timedelta(days=8), today))
    assert "4 days ago" in str(not_due(today - timedelta(days=4), today, today))
    assert not_due(today - timedelta(days=7), today, today) is None
    assert not_due(None, today, today) is None
