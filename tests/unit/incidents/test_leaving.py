from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.incidents.leaving import Leaving, weigh_leaving
from pupilage.core.incidents.record import Incident

START = datetime(2026, 5, 4, 6, tzinfo=UTC)


def record(marks):
    """Return occasions in time order: x happened, l looked and left it, n near miss."""
    return [
        Incident(str(i), "counter-stealing", START + timedelta(hours=i), left_it=mark == "l", near_miss=mark == "n")
        for i, mark in enumerate(marks)
    ]


def says(marks):
    return [str(one) for one in weigh_leaving(record(marks)).says]


def test_share_left_has_wilsons_limits():
    """8 of 10: 0.490 to 0.943 (statsmodels, proportion_confint, method wilson)."""
    found = weigh_leaving(record("xlllllxlll"))
    assert (found.n_left, found.n) == (8, 10)
    assert (found.low, found.high) == pytest.approx((0.49016, 0.94333), abs=5e-5)


def test_leaving_it_more_often_is_said_from_what_chance_does_not_make():
    """Fisher's exact test of 4 of 4 against 0 of 4: two-sided 2/70 = 0.0286, as for the tea table (1935, ch. 2)."""
    found = weigh_leaving(record("xxxxllll"))
    assert found.p == pytest.approx(2 / 70)
    assert "It leaves it more often by now: 0 of 4 at first, 4 of 4 since." in says("xxxxllll")
    assert "It leaves it less often by now: 4 of 4 at first, 0 of 4 since." in says("llllxxxx")


def test_a_trend_that_chance_makes_too_is_not_named():
    assert "Whether it leaves it more often by now cannot be told: 1 of 4 at first, 3 of 4 since." in says("xxxllllx")


def test_few_occasions_say_the_share_only():
    assert len(says("xll")) == 1
    assert weigh_leaving(record("xll")).p is None


def test_a_near_miss_is_told_and_is_neither_an_incident_nor_left():
    found = weigh_leaving(record("nlx"))
    assert (found.n_near, found.n_left, found.n) == (1, 1, 3)
    assert "Near misses, where it began and somebody was in time: 1. They are in no rate of incidents." in says("nlx")


def test_without_good_news_nothing_is_said():
    assert says("xxxx") == []
    assert says("") == []


def test_halves_of_four_are_compared_and_of_three_are_not():
    assert weigh_leaving(record("xxxxllll")).p is not None
    assert weigh_leaving(record("xxxllll")).p is None


@pytest.mark.parametrize(
    ("k_new", "p", "words"),
    [
        (401, 0.05, "more often"),
        (399, 0.05, "less often"),
        (401, 0.0502, "cannot be told"),
    ],
)
def test_the_way_it_goes_is_that_of_the_two_shares_from_one_in_twenty_on(k_new, p, words):
    found = Leaving(400 + k_new, 0, 1600, 0.4, 0.6, earlier=(400, 800), later=(k_new, 800), p=p)
    assert words in str(found.says[1])
