"""Where an item stands after its meetings."""

from dataclasses import replace
from datetime import date, datetime

import pytest

from exposure_days import CATALOGUE, FIRST_DAY, ZONE, at, judged, met
from pupilage.core.care.exposures.item import VetTopic
from pupilage.core.care.exposures.judging import ItemState, is_at_ease, is_setback, judge_exposures
from pupilage.core.care.exposures.log import VetWord, Withdrawal
from pupilage.core.errors import InvalidInput


def day(n: int) -> date:
    return date(FIRST_DAY.year, FIRST_DAY.month, FIRST_DAY.day + n)


def test_item_without_a_meeting_is_not_met():
    standing = judged([], day=1).of("man")
    assert (standing.state, standing.n_met, standing.last_on) == (ItemState.NOT_MET, 0, None)


def test_meeting_at_ease_is_met_well_at_its_intensity():
    standing = judged([met("man", 0), met("man", 1, intensity=2), met("man", 2, intensity=2)], day=2).of("man")
    assert (standing.state, standing.n_well, standing.well_intensity) == (ItemState.MET_WELL, 2, 2)
    assert not standing.known


def test_three_meetings_at_ease_at_the_target_make_it_known():
    log = [met("man", n, intensity=3) for n in range(3)]
    assert judged(log, day=3).of("man").known
    assert not judged(log[:2], day=3).of("man").known


def test_unsure_is_neither_too_much_nor_at_ease():
    standing = judged([met("man", 0, "unsure")], day=0).of("man")
    assert (standing.state, standing.held_until) == (ItemState.MET, None)


@pytest.mark.parametrize(
    ("response", "recovery_s", "until"),
    [("worried", 30.0, 2), ("worried", None, 2), ("worried", 90.0, 3), ("afraid", 5.0, 3), ("calm", 61.0, 3)],
)
def test_what_was_too_much_is_held_back_for_days(response, recovery_s, until):
    log = [met("man", 0, response, recovery_s=recovery_s)]
    assert judged(log, day=until - 1).of("man").state is ItemState.HELD_BACK
    assert judged(log, day=until - 1).of("man").held_until == day(until)
    assert judged(log, day=until, hour=0.1).of("man").held_until is None


def test_recovery_within_a_minute_after_calm_is_no_setback():
    assert is_at_ease(met("man", 0, recovery_s=60.0))
    assert is_setback(met("man", 0, "curious", recovery_s=60.5))


def test_second_time_in_a_row_waits_twice_as_long_and_no_more_than_a_week():
    log = [met("man", 0, "worried", recovery_s=10.0), met("man", 2, "worried", recovery_s=10.0)]
    assert judged(log, day=3).of("man").held_until == day(6)
    log = [met("man", n, "worried", recovery_s=10.0) for n in (0, 2, 6)]
    assert judged(log, day=7).of("man").held_until == day(13)


def test_meeting_at_ease_does_not_shorten_the_wait():
    log = [met("man", 0, "afraid", recovery_s=20.0), met("man", 0, hour=15)]
    assert judged(log, day=1).of("man").state is ItemState.HELD_BACK


def test_shorter_wait_that_comes_later_does_not_shorten_a_longer_one():
    log = [met("man", 0, "afraid"), met("man", 0, hour=12), met("man", 0, "worried", hour=14, recovery_s=5.0)]
    assert judged(log, day=0).of("man").held_until == day(3)


def test_meeting_at_ease_ends_the_row_so_that_the_next_wait_is_the_first_again():
    log = [met("man", 0, "worried", recovery_s=5.0), met("man", 2), met("man", 3, "worried", recovery_s=5.0)]
    assert judged(log, day=3).of("man").held_until == day(5)


def test_good_meetings_before_it_was_too_much_do_not_count_any_more():
    log = [met("man", 0, intensity=3), met("man", 1, "worried", recovery_s=20.0)]
    standing = judged(log, day=8).of("man")
    assert (standing.state, standing.n_well, standing.n_at_target) == (ItemState.MET, 0, 0)


@pytest.mark.parametrize(
    "log",
    [
        [met("man", 0, "worried", recovery_s=180.0)],
        [met("man", 0, "afraid"), met("man", 4, "afraid")],
        [met("man", 0, "calm", recovery_s=70.0), met("man", 4, "worried", recovery_s=70.0)],
        [met("man", n, "worried", recovery_s=10.0) for n in (0, 3, 8)],
    ],
    ids=["lasting for minutes", "twice without recovery", "twice slow", "three times in a row"],
)
def test_fear_that_lasts_or_comes_again_is_referred_and_not_practised(log):
    standing = judged(log, day=20).of("man")
    assert (standing.state, standing.next) == (ItemState.REFERRED, None)


def test_meeting_at_ease_ends_a_referral():
    log = [met("man", 0, "worried", recovery_s=200.0), met("man", 9)]
    assert judged(log, day=9).of("man").state is ItemState.MET_WELL


def test_slow_recovery_after_excitement_alone_is_held_back_and_not_referred():
    assert judged([met("man", 0, "curious", recovery_s=600.0)], day=1).of("man").state is ItemState.HELD_BACK


def test_what_waits_for_the_veterinarian_waits_until_they_said_yes():
    assert judged([], day=1).of("dog").waits_for_vet is VetTopic.DOGS
    word = VetWord("w", VetTopic.DOGS, at(0))
    assert judged([word], day=1).of("dog").waits_for_vet is None
    assert judged([word, Withdrawal("x", "w")], day=1).of("dog").waits_for_vet is VetTopic.DOGS
    assert judged([VetWord("w", VetTopic.GROUND, at(0))], day=1).of("dog").waits_for_vet is VetTopic.DOGS


def test_entry_taken_back_counts_nowhere():
    log = [met("man", 0, "afraid"), Withdrawal("x", "man-0-10.0")]
    assert judged(log, day=0).of("man").state is ItemState.NOT_MET
    assert not judged(log, day=0).fear_today


def test_fear_of_three_things_in_a_week_is_fear_that_spreads():
    log = [met("man", 0, "afraid"), met("grass", 3, "worried", recovery_s=80.0), met("bell", 6, "afraid")]
    assert judged(log, day=6).afraid_of == ("bell", "grass", "man")
    assert judged(log, day=7).afraid_of == ()
    assert judged([*log[:2], met("grass", 6, "afraid")], day=6).afraid_of == ()


def test_worry_that_was_over_within_a_minute_does_not_count_as_spreading():
    log = [met(key, 0, "worried", recovery_s=30.0) for key in ("man", "grass", "bell", "paws")]
    assert judged(log, day=0).afraid_of == ()


def test_first_meeting_with_a_strong_item_is_the_strong_thing_of_that_day_only():
    log = [met("child", 0), met("child", 1)]
    assert judged(log, day=0).strong_today
    assert not judged(log, day=1).strong_today


def test_first_time_at_intensity_four_is_strong_too():
    assert judged([met("paws", 0), met("paws", 1, intensity=4)], day=1).strong_today


def test_days_are_those_of_the_zone():
    late = replace(met("man", 0, "afraid"), at=at(0, 23.9))
    assert judge_exposures([late], CATALOGUE, now=at(0, 23.95), zone=ZONE).fear_today
    assert not judge_exposures([late], CATALOGUE, now=at(1, 0.1), zone=ZONE).fear_today


def test_unknown_item_of_an_older_list_is_kept_and_stands_nowhere():
    gone = replace(met("man", 0), item="gone")
    assert judged([gone], day=0).of("gone") is None
    assert judged([gone], day=0).n_met_today == 1


def test_naive_now_is_refused():
    with pytest.raises(InvalidInput):
        judge_exposures([], CATALOGUE, now=datetime(2026, 5, 2), zone=ZONE)  # noqa: DTZ001  the fault under test
