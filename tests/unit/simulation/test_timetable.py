"""A day of a pup: awake in short blocks, out often, and to bed before half past ten."""

from itertools import pairwise

import numpy as np
import pytest

from pupilage.core.simulation.timetable import Activity, ActivityKind, Mishap, draw_mishaps, draw_start, lay_out_day

Day = list[Activity]


def day_of(seed: int, number: int = 3, n_sessions: int = 4) -> Day:
    rng = np.random.default_rng(seed)
    return lay_out_day(rng, number=number, starts_min=draw_start(rng, number), n_sessions=n_sessions)


@pytest.fixture(scope="module")
def days() -> list[Day]:
    return [day_of(seed) for seed in range(50)]


def count(day: Day, kind: ActivityKind) -> int:
    return sum(activity.kind is kind for activity in day)


def test_activities_follow_each_other_without_overlap(days: list[Day]) -> None:
    for day in days:
        assert all(first.end_min <= second.start_min for first, second in pairwise(day))


def test_day_lies_between_half_past_six_and_half_past_ten(days: list[Day]) -> None:
    for day in days:
        assert day[1].kind is ActivityKind.WAKE
        assert 6 * 60 + 30 <= day[1].start_min <= day[-1].end_min <= 22 * 60 + 30


def test_every_session_asked_for_has_its_place(days: list[Day]) -> None:
    assert {count(day, ActivityKind.SESSION) for day in days} == {4}


def test_there_are_three_or_four_meals(days: list[Day]) -> None:
    assert {count(day, ActivityKind.MEAL) for day in days} == {4}
    assert {count(day_of(seed, number=0), ActivityKind.MEAL) for seed in range(20)} == {3}


def test_every_day_has_a_round_of_play_in_the_evening(days: list[Day]) -> None:
    for day in days:
        assert any(a.kind is ActivityKind.PLAY and a.start_min >= 18 * 60 for a in day)


def test_the_pup_goes_out_soon_after_every_sleep(days: list[Day]) -> None:
    for day in days:
        for sleep, after in pairwise(day):
            if sleep.kind in (ActivityKind.NAP, ActivityKind.WAKE):
                assert after.kind is ActivityKind.OUTING
                assert after.start_min - sleep.end_min <= 5.0  # at most five minutes, as TRADE.md section 3 has it


def test_awake_blocks_and_naps_last_as_a_young_pup_needs(days: list[Day]) -> None:
    """Awake at most 90 minutes, naps of one to two and a half hours: common practice, no source."""
    for day in days:
        naps = [a for a in day if a.kind is ActivityKind.NAP]
        assert all(60.0 <= nap.end_min - nap.start_min <= 150.0 for nap in naps)
        assert all(second.start_min - first.end_min <= 90.0 for first, second in pairwise(naps))


def test_the_day_of_arrival_has_no_night_before_it() -> None:
    day = day_of(1, number=0)
    assert day[0].kind is ActivityKind.OUTING
    assert day[0].start_min >= 10 * 60 + 30


def test_mishaps_grow_fewer() -> None:
    """Expected 1.3 on the first day and 0.2 on the tenth; 400 draws have standard errors of 0.06 and 0.02."""
    rng = np.random.default_rng(4)
    early = np.mean([len(draw_mishaps(rng, 0, 7)) for _ in range(400)])
    late = np.mean([len(draw_mishaps(rng, 9, 7)) for _ in range(400)])
    assert late < 0.5 * early


def test_a_mishap_says_how_it_came() -> None:
    rng = np.random.default_rng(4)
    kinds = {kind for _ in range(200) for kind in draw_mishaps(rng, 0, 7).values()}
    assert kinds == {Mishap.AFTER_PLAY, Mishap.LONG_AFTER_OUTING}
