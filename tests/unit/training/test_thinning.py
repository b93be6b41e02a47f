"""Pay gets thinner on proof, richer again on misses or slow starts, and never for what is always paid."""

import math
from dataclasses import replace

import pytest

from engine_cases import START, WAIT, day, series
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.training.record.evidence import SessionKind, TrialSource
from pupilage.core.training.rewards.latencies import chance_slower
from pupilage.core.training.rewards.thinning import LEAST_PAID, RATIOS, share_in_words, thin

ZONE = START.tzinfo


def session(n, letters, *, paid=None, step="d", **more):
    """Return a day's session at a step; paid: one letter a try, 1 where food was given, every met one by default."""
    trials = series(letters, step=step, session=f"s{n}", start=day(n), **more)
    marks = paid if paid is not None else "".join("1" if letter == "m" else "0" for letter in letters)
    return [replace(trial, pieces=int(mark)) for trial, mark in zip(trials, marks, strict=True)]


def level(*sessions, now="next", behaviour=WAIT):
    trials = [trial for one in sessions for trial in one]
    return thin(behaviour, "d", trials, session_id=now, zone=ZONE)


SURE = (session(0, "m" * 8), session(1, "m" * 8))


def test_pay_stays_rich_before_the_goal_and_on_its_first_day():
    assert level().ratio == 1.0
    assert level(session(0, "m" * 20, step="c"), session(1, "m" * 20, step="c")).ratio == 1.0
    assert level(session(0, "m" * 20)).ratio == 1.0
    assert "2 days" in str(level(session(0, "m" * 20)).reason)


def test_sure_on_two_days_thins_a_little_and_says_why():
    found = level(*SURE)
    assert found.ratio == 1.5
    assert str(found.reason) == "At its goal, 16 of 16 met: reward about 2 in 3 now, and praise every one."


def test_pay_changes_between_sessions_never_thinner_within_one():
    trials = [trial for one in SURE for trial in one]
    assert [thin(WAIT, "d", trials[:n], session_id="s1", zone=ZONE).level for n in range(9, 17)] == [0] * 8


def test_dog_that_was_paid_every_time_gets_no_thinner_pay_yet():
    always = [session(n, "m" * 12) for n in range(2, 8)]
    assert level(*SURE, *always).ratio == 1.5


def test_thinner_pay_that_was_followed_goes_on_to_the_next():
    followed = session(2, "m" * 9, paid="110110110")
    assert level(*SURE, followed).ratio == 2.0


def test_next_thinness_asks_for_three_pays_at_this_one():
    assert LEAST_PAID == 3
    assert level(*SURE, session(2, "m" * 9, paid="100000001")).ratio == 1.5
    assert level(*SURE, session(2, "m" * 9, paid="100010001")).ratio == 2.0


def test_three_misses_in_a_row_go_back_at_once_and_say_so():
    thin_now = (*SURE, session(2, "m" * 9, paid="110110110"))
    back = level(*thin_now, session(3, "mmmxxx"), now="s3")
    assert back.ratio == 1.5
    assert str(back.reason) == "Too many misses in the last 3 tries: back to about 2 in 3 rewarded."
    assert level(*SURE, session(2, "xxx"), now="s2").ratio == 1.0


def test_scattered_misses_go_back_too():
    assert level(*SURE, session(2, "mxmxmxmx", paid="10101010"), now="s2").ratio == 1.0


def test_slower_starts_go_back_and_name_the_seconds():
    quick = [replace(t, latency_s=1.0 + 0.1 * (i % 3)) for one in SURE for i, t in enumerate(one)]
    slow = [replace(t, latency_s=3.0) for t in session(2, "m" * 6, paid="110110")]
    found = thin(WAIT, "d", [*quick, *slow], session_id="s2", zone=ZONE)
    assert found.ratio == 1.0
    assert str(found.reason) == "It began more slowly, 3.0 s after 1.1 s: reward every one again."
    steady = [replace(t, latency_s=1.1) for t in slow]
    assert thin(WAIT, "d", [*quick, *steady], session_id="s2", zone=ZONE).ratio == 1.5


def test_practice_back_below_the_goal_makes_the_pay_richer():
    thinner = (*SURE, session(2, "m" * 9, paid="110110110"))
    assert level(*thinner, session(3, "mmm", step="c")).ratio < 2.0


def test_probes_imported_and_void_tries_do_not_count():
    probes = [session(n, "m" * 9, kind=SessionKind.PROBE) for n in (2, 3)]
    imported = [[replace(t, source=TrialSource.IMPORTED) for t in one] for one in SURE]
    assert level(*probes).level == level(*imported).level == level(session(0, "vvvv"), session(1, "vvvv")).level == 0


def test_what_is_always_paid_is_never_thinned():
    found = level(*SURE, behaviour=replace(WAIT, always_paid=True))
    assert found.ratio == 1.0
    assert "whole stay" in str(found.reason)


@pytest.mark.parametrize("key", ["recall", "toilet-on-cue", "drop", "handling", "grooming", "collar-hold"])
def test_catalogue_marks_what_is_always_paid(key):
    assert load_bundled().behaviours[key].always_paid


@pytest.mark.parametrize("key", ["sit", "settle-on-mat", "loose-lead"])
def test_catalogue_leaves_the_rest_to_be_thinned(key):
    assert not load_bundled().behaviours[key].always_paid


@pytest.mark.parametrize("ratio", RATIOS)
def test_every_ratio_is_said_in_small_whole_numbers(ratio):
    paid, of = share_in_words(ratio)
    assert of / paid == ratio


PER_MET, PER_MISS, LIMIT = math.log(0.85 / 0.60), math.log(0.15 / 0.40), math.log(0.1 / 0.9)


def row_of(n_missed, n_met):
    """Return so many tries in an order that keeps the test for richer pay below 0, and short of its end if it can."""
    letters, ratio = "", 0.0
    while n_missed or n_met:
        miss = n_missed and (ratio + PER_MISS > LIMIT or not n_met)
        letters += "x" if miss else "m"
        ratio += PER_MISS if miss else PER_MET
        assert ratio < 0.0
        n_missed, n_met = (n_missed - 1, n_met) if miss else (n_missed, n_met - 1)
    return letters


@pytest.mark.parametrize(("n_missed", "n_met", "ratio"), [(9, 19, 1.0), (4, 5, 1.5)])
def test_pay_gets_richer_just_where_wald_s_test_ends(n_missed, n_met, ratio):
    # 9 log(.15/.40) + 19 log(.85/.60) = -2.2096 and 4 … + 5 … = -2.1818, on either side of log(.1/.9) = -2.1972, by
    # less than one per cent.
    assert level(*SURE, session(2, row_of(n_missed, n_met))).ratio == ratio


@pytest.mark.parametrize(("n_met", "ratio"), [(12, 1.5), (11, 1.0)])
def test_pay_gets_thinner_just_where_wald_s_test_ends(n_met, ratio):
    # 2 log(.15/.40) + 12 log(.85/.60) = 2.2180; log(.9/.1) = 2.1972.
    assert level(session(0, "mxm"), session(1, "mx" + "m" * (n_met - 3))).ratio == ratio


@pytest.mark.parametrize(("n_paid", "ratio"), [(10, 2.0), (11, 1.5)])
def test_plan_was_followed_when_no_more_was_paid_than_halfway_to_the_step_before(n_paid, ratio):
    # Halfway between 1 and 2 in 3: 10 of 12.
    assert level(*SURE, session(2, "m" * 12, paid="1" * n_paid + "0" * (12 - n_paid))).ratio == ratio


def timed(n, seconds, letters=None):
    marks = "110" * len(seconds)
    return session(n, letters or "m" * len(seconds), paid=marks[: len(seconds)], latencies_s=seconds)


@pytest.mark.parametrize(("newest_s", "ratio"), [(1.256, 1.0), (1.244, 1.5)])
def test_starts_a_quarter_slower_bring_the_pay_back(newest_s, ratio):
    before = [0.99, 1.0, 1.01] * 10
    assert level(*SURE, timed(2, [*before, *[newest_s] * 5]), now="s2").ratio == ratio


@pytest.mark.parametrize(("spread", "chance", "ratio"), [(0.40, 0.9963, 1.0), (0.50, 0.9904, 1.5)])
def test_slower_starts_bring_the_pay_back_only_when_hardly_to_be_chance(spread, chance, ratio):
    seconds = [math.exp(spread), math.exp(-spread)] * 5 + [1.0] + [2.0] * 5
    assert chance_slower(seconds) == pytest.approx(chance, abs=2e-4)  # Student's t, checked in external/test_latencies
    assert level(*SURE, timed(2, seconds), now="s2").ratio == ratio
