"""Which reinforcer works: not enough, clear differences, and what the card then says."""

import math

import pytest

from engine_cases import WAIT, day, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.training.rewards.foresight import foresee
from pupilage.core.training.rewards.reinforcer_choice import choose_reinforcer
from pupilage.core.training.rewards.reinforcers import Band, Comparison, Tries, compare_reinforcers, tries_of


def sessions(name, p, n_met, *, n=10, times=6):
    return [Tries(name, f"b{i % 2}", f"{name}-{p}-{i}", p, n_met, n) for i in range(times)]


CLEAR = [
    *sessions("dry food", 0.9, 9, times=8),
    *sessions("dry food", 0.6, 5, times=8),
    *sessions("chicken", 0.6, 9),
    *sessions("chicken", 0.9, 9),
]


def test_nothing_written_compares_nothing():
    assert compare_reinforcers([]) == Comparison(None, ())


def test_better_reinforcer_stands_above_the_usual_one_where_it_is_better():
    found = compare_reinforcers(CLEAR)
    assert found.usual == "dry food"
    assert found.names == ("dry food", "chicken")
    hard, easy = found.of("chicken", Band.DIFFICULT), found.of("chicken", Band.EASY)
    assert hard.p_better > 0.95 > easy.p_better > 0.5
    assert hard.low < hard.logits < hard.high
    assert found.of("dry food").p_better is None
    assert hard.seen == pytest.approx(0.9)
    assert hard.expected == pytest.approx(0.6)
    chance, low, high = hard.chance_at(0.6)
    assert 0.6 < low < chance < high < 1.0


def test_one_reinforcer_alone_has_nothing_to_be_compared_with():
    assert not compare_reinforcers(sessions("dry food", 0.6, 9)).compares
    assert compare_reinforcers(CLEAR).compares


def test_reinforcers_of_different_behaviours_are_not_called_better_or_worse():
    recall = [Tries("chicken", "recall", f"r{i}", 0.6, 9, 10) for i in range(8)]
    found = compare_reinforcers([*sessions("dry food", 0.6, 5, times=8), *recall])
    assert found.of("chicken").enough
    assert found.of("chicken").p_better is None
    assert not choose_reinforcer(0.6, found, ["dry food", "chicken"]).enough


def test_little_evidence_is_not_enough_and_one_session_never_is():
    assert not compare_reinforcers(sessions("tug", 0.7, 55, times=1, n=60)).of("tug").enough
    assert not compare_reinforcers(sessions("tug", 0.7, 4, times=4, n=4)).of("tug").enough
    assert compare_reinforcers(CLEAR).of("chicken", Band.DIFFICULT).enough


def test_shift_is_shrunk_towards_none():
    found = compare_reinforcers(sessions("tug", 0.6, 10, times=3))
    raw = math.log(29.5 / 0.5) - math.log(0.6 / 0.4)
    assert 0.2 < found.of("tug").logits < raw / 2


def test_order_of_the_tries_changes_nothing():
    one, other = compare_reinforcers(CLEAR), compare_reinforcers(CLEAR[::-1])
    for shift in one.shifts:
        assert other.of(shift.reinforcer, shift.band).logits == pytest.approx(shift.logits, abs=1e-8)


@pytest.mark.parametrize("wrong", [(0.0, 5, 10), (float("nan"), 5, 10), (0.5, 11, 10), (0.5, -1, 10), (0.5, 0, 0)])
def test_tries_that_cannot_be_are_refused(wrong):
    p, n_met, n = wrong
    with pytest.raises(InvalidInput, match="cannot be tries"):
        compare_reinforcers([Tries("tug", "b", "s", p, n_met, n)])


def test_extreme_counts_stay_finite():
    found = compare_reinforcers(sessions("tug", 0.999999, 0, times=40, n=100))
    assert all(math.isfinite(x) for s in found.shifts for x in (s.logits, s.low, s.high))


def test_tries_are_gathered_without_probes_void_ones_and_the_nameless():
    trials = [
        *series("mmxvh", session="a"),
        *series("mm", session="b", start=day(1)),
        *series("m", session="c", start=day(2), kind=SessionKind.PROBE),
    ]
    expected = {trial.event_id: 0.7 for trial in trials}
    names = {t.event_id: "tug" for t in trials if t.session_id != "b"}
    assert tries_of(trials, expected, names) == [Tries("tug", WAIT.key, "a", 0.7, 2, 4)]


def test_difficult_step_gets_the_better_one_and_an_easy_one_the_plainest_that_works():
    found = compare_reinforcers(CLEAR)
    hard = choose_reinforcer(0.6, found, ["dry food", "chicken"])
    assert (hard.reinforcer, hard.enough) == ("chicken", True)
    assert "chicken" in str(hard.reason)
    easy = choose_reinforcer(0.9, found, ["dry food", "chicken"])
    assert (easy.reinforcer, easy.enough) == ("dry food", True)
    assert str(easy.reason) == "An easy step: dry food still works, 72 of 80 met where about 72 were expected."


def test_difficult_step_stays_with_the_usual_one_when_none_is_better():
    same = [*sessions("dry food", 0.6, 6, times=8), *sessions("chicken", 0.6, 6)]
    found = choose_reinforcer(0.6, compare_reinforcers(same), ["dry food", "chicken"])
    assert (found.reinforcer, found.enough) == ("dry food", True)


@pytest.mark.parametrize("p", [0.5, 0.9])
def test_short_record_says_that_it_cannot_tell(p):
    found = choose_reinforcer(p, compare_reinforcers(sessions("tug", 0.7, 5, times=1)), ["dry food", "tug"])
    assert (found.reinforcer, found.enough) == ("tug", False)
    assert str(found.reason).startswith("Not enough yet")
    assert choose_reinforcer(p, Comparison(None, ()), ["dry food"]).reinforcer == "dry food"


def test_short_record_goes_on_with_what_the_behaviour_was_practised_with():
    found = choose_reinforcer(0.6, Comparison(None, ()), ["dry food", "chicken"], habit="chicken")
    assert (found.reinforcer, found.enough) == ("chicken", False)
    assert choose_reinforcer(0.6, Comparison(None, ()), ["dry food"], habit="chicken").reinforcer == "dry food"


def test_retired_reinforcers_and_empty_lists_are_met():
    found = compare_reinforcers(CLEAR)
    assert choose_reinforcer(0.6, found, ["cheese"]).reinforcer == "cheese"
    assert choose_reinforcer(0.6, found, []).reinforcer is None


def record(n_days=5):
    return [t for n in range(n_days) for t in series("mmxmmmxm", step="ab"[n % 2], session=f"s{n}", start=day(n))]


def test_what_was_expected_is_the_engines_word_before_the_session():
    trials = record()
    seen = foresee(know({WAIT.key: WAIT}, trials))
    assert set(seen.p) == {t.event_id for t in trials}
    before = know({WAIT.key: WAIT}, trials[:32])
    assert seen.p[trials[32].event_id] == pytest.approx(read_step(before.at(WAIT.key, day(4)), 0).mean, abs=1e-12)
    assert seen.p[trials[32].event_id] == seen.p[trials[39].event_id]


@pytest.mark.parametrize("n", [0, 8, 11, 24, 39, 40])
def test_going_on_from_an_earlier_foresight_is_starting_anew(n):
    behaviours, trials = {WAIT.key: WAIT}, record()
    earlier = foresee(know(behaviours, trials[:n]))
    whole = foresee(know(behaviours, trials))
    assert foresee(know(behaviours, trials), earlier).p == whole.p
    assert foresee(know(behaviours, trials[:20]), whole).p == foresee(know(behaviours, trials[:20])).p
