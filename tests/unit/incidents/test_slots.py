import pytest

from pupilage.core.incidents.rates import Interval
from pupilage.core.incidents.slots import Rise, find_rise, say_too_few, slot_of


def slots(*counts_and_hours):
    return [slot_of(i, i + 1, n=n, hours=hours) for i, (n, hours) in enumerate(counts_and_hours)]


def test_slot_hardly_watched_has_no_rate_and_is_not_compared():
    thin = slots((4, 0.9), (2, 10.0), (2, 10.0))
    assert thin[0].rate is None
    assert find_rise(thin, n_looked=2) is None
    assert "4 incidents cannot tell" in str(say_too_few(thin))


def test_equal_rates_have_a_rise_that_chance_explains():
    rise = find_rise(slots((3, 7.0), (3, 7.0)), n_looked=2)
    assert rise.p == 1.0
    assert not rise.stands_out


def test_the_more_was_looked_at_the_less_stands_out():
    some = slots((9, 6.0), (2, 10.0), (2, 10.0))
    assert find_rise(some, n_looked=3).stands_out
    assert not find_rise(some, n_looked=200).stands_out


@pytest.mark.parametrize(
    ("given", "word"),
    [
        (slots((0, 5.0), (0, 5.0)), "nothing can be told"),
        (slots((2, 5.0), (1, 5.0)), "3 incidents cannot tell"),
        (slots((9, 5.0), (0, 0.5)), "nothing to compare"),
    ],
)
def test_what_is_too_little_is_said(given, word):
    assert find_rise(given, n_looked=2) is None
    assert word in str(say_too_few(given))


def test_an_hour_watched_has_a_rate():
    assert slot_of(0, 1, n=1, hours=1.0).rate is not None


def test_five_incidents_are_compared_and_four_are_not():
    assert find_rise(slots((4, 7.0), (1, 7.0)), n_looked=2) is not None
    assert find_rise(slots((3, 7.0), (1, 7.0)), n_looked=2) is None
    assert "nothing to compare" in str(say_too_few(slots((5, 5.0))))


@pytest.mark.parametrize(("p", "stands_out"), [(0.05, True), (0.0502, False)])
def test_a_slot_stands_out_up_to_one_record_of_twenty(p, stands_out):
    assert Rise(slot_of(0, 1, n=5, hours=2.0), Interval(3.0, 1.0, 9.0), p).stands_out is stands_out
