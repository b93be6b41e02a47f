"""The dated list."""

from collections import Counter
from datetime import timedelta

import pytest

from exposure_days import FIRST_DAY, judged, met
from pupilage.core.care.exposures.judging import N_WELL_ENOUGH
from pupilage.core.care.exposures.spreading import spread_exposures
from pupilage.core.errors import InvalidInput


def days(first: int, n: int):
    return [FIRST_DAY + timedelta(days=first + i) for i in range(n)]


def test_everything_is_met_once_before_anything_is_met_again():
    spread = spread_exposures(judged([], day=0).standings, days(1, 10), 3)
    numbers = [one.number for one in spread.dated]
    firsts = [one.standing.item.key for one in spread.dated if one.number == 1]
    assert len(firsts) == len(set(firsts)) == 6
    assert numbers.index(2) >= 4
    assert max(numbers) == N_WELL_ENOUGH


def test_no_day_holds_more_than_is_allowed_and_no_item_twice():
    spread = spread_exposures(judged([], day=0).standings, days(1, 10), 3)
    by_day = Counter(one.on for one in spread.dated)
    assert max(by_day.values()) <= 3
    assert max(Counter((one.on, one.standing.item.key) for one in spread.dated).values()) == 1


def test_one_new_strong_thing_a_day():
    spread = spread_exposures(judged([], day=0).standings, days(1, 1), 9)
    assert sum(one.standing.item.strong for one in spread.dated) == 1
    assert [str(one.reason) for one in spread.not_placed if one.standing.item.key != "dog"] == [
        "No day is left for it: not more than one new strong thing a day."
    ]


def test_held_back_item_waits_for_its_day():
    standings = judged([met("man", 0, "afraid", recovery_s=30.0)], day=0).standings
    spread = spread_exposures(standings, days(1, 6), 6)
    assert min(one.on for one in spread.dated if one.standing.item.key == "man") == FIRST_DAY + timedelta(days=3)
    short = spread_exposures(standings, days(1, 2), 6)
    assert "Held back until these days are over." in {str(one.reason) for one in short.not_placed}


def test_what_waits_or_is_referred_has_no_day_and_says_why():
    standings = judged([met("man", 0, "afraid", recovery_s=400.0)], day=0).standings
    told = {one.standing.item.key: str(one.reason) for one in spread_exposures(standings, days(1, 9), 6).not_placed}
    assert told == {
        "man": "For a veterinary behaviourist first.",
        "dog": "Waits for the veterinarian's word.",
    }


def test_known_item_has_no_place_and_is_not_missed():
    log = [met("man", n, intensity=3, distance_m=2.0) for n in range(3)]
    spread = spread_exposures(judged(log, day=3).standings, days(4, 20), 6)
    assert "man" not in {one.standing.item.key for one in (*spread.dated, *spread.not_placed)}


def test_no_days_or_no_room_place_nothing_and_say_so():
    standings = judged([], day=0).standings
    for spread in (spread_exposures(standings, [], 3), spread_exposures(standings, days(1, 3), 0)):
        assert spread.dated == ()
        assert len(spread.not_placed) == len(standings)


def test_days_in_any_order_and_twice_are_the_same_days():
    standings = judged([], day=0).standings
    usual = spread_exposures(standings, days(1, 5), 2)
    assert spread_exposures(standings, [*reversed(days(1, 5)), *days(1, 5)], 2) == usual


def test_item_met_today_is_not_given_today_again():
    standings = judged([met("man", 1)], day=1).standings
    spread = spread_exposures(standings, days(1, 2), 9)
    assert [one.on for one in spread.dated if one.standing.item.key == "man"] == days(2, 1)


def test_negative_number_a_day_is_refused():
    with pytest.raises(InvalidInput):
        spread_exposures((), days(1, 2), -1)
