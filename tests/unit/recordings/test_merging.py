import random

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.merging import MergeRules, TappedTrial, merge_trials
from pupilage.core.recordings.trials import HeardTrial
from pupilage.core.training.record.evidence import Outcome


def heard(cue_s: float, marker_s: float | None = None, behaviour: str = "sit") -> HeardTrial:
    confirmed = EventState.CONFIRMED
    cue = Event(cue_s, cue_s + 0.2, EventKind.CUE, behaviour, state=confirmed, behaviour=behaviour)
    marker = None if marker_s is None else Event(marker_s, marker_s, EventKind.MARKER, "yes", state=confirmed)
    return HeardTrial((cue,), marker)


def a_session(seed: int, n: int, *, offset_s: float, missing: float = 0.1):
    """The same trials twice: heard, and tapped about a second after the end by another clock; some missing on each."""
    chance, at_s, trials, taps = random.Random(seed), 30.0, [], []
    for i in range(n):
        met, end_s = chance.random() < 0.8, at_s + chance.uniform(0.8, 2.5)
        if chance.random() > missing:
            trials.append(heard(at_s, end_s if met else None))
        if chance.random() > missing:
            tap_s = (end_s if met else at_s + 3.0) + chance.lognormvariate(0.0, 0.4) - offset_s
            taps.append(TappedTrial(tap_s, "sit", Outcome.MET if met else Outcome.MISSED, id=str(i)))
        at_s += chance.uniform(4.0, 14.0)
    return taps, trials


@pytest.mark.parametrize("offset_s", [-432.1, 0.0, 77.7])
def test_the_clocks_difference_is_found_and_each_trial_stands_once(offset_s: float) -> None:
    taps, trials = a_session(3, 30, offset_s=offset_s)
    merge = merge_trials(taps, trials)
    assert merge.offset_s == pytest.approx(offset_s - 1.0, abs=1.0)
    assert merge.n_both + merge.n_only_tapped == len(taps)
    assert merge.n_both + merge.n_only_heard == len(trials)
    assert len(merge.trials) == merge.n_both + merge.n_only_tapped + merge.n_only_heard
    assert [one.at_s for one in merge.trials] == sorted(one.at_s for one in merge.trials)
    assert merge.on_trials.share > 0.95
    assert merge.on_counts.total > 0.8


def test_the_tapped_outcome_stands_and_the_heard_latency_fills_in() -> None:
    taps, trials = a_session(3, 30, offset_s=0.0)
    both = [one for one in merge_trials(taps, trials).trials if one.tapped and one.heard]
    assert {one.outcome for one in both} == {"met", "missed"}
    assert any(one.heard.first_latency_s is not None for one in both)


def test_another_session_is_not_merged_and_nothing_is_lost() -> None:
    taps, _ = a_session(1, 12, offset_s=0.0)
    trials = [heard(10.0 + 400.0 * i, 12.0 + 400.0 * i) for i in range(12)]
    merge = merge_trials(taps, trials)
    assert (merge.offset_s, merge.n_both, merge.on_trials) == (None, 0, None)
    assert len(merge.trials) == len(trials)
    assert "Nothing was merged" in str(merge.sentences[0])


def test_evenly_spaced_trials_are_not_matched_by_luck() -> None:
    taps = [TappedTrial(10.0 * i, "sit", Outcome.MET) for i in range(20)]
    trials = [heard(10.0 * i + 3.0, 10.0 * i + 5.0) for i in range(19)]
    merge = merge_trials(taps, trials)
    assert merge.offset_s is None
    assert "more than one way" in str(merge.sentences[0])
    assert merge_trials(taps, trials, offset_s=5.0).n_both == 19


def test_a_rough_guess_keeps_other_matches_out() -> None:
    taps = [TappedTrial(100.0 * i, "sit", Outcome.MET) for i in range(10)]
    trials = [heard(100.0 * i + 3.0, 100.0 * i + 5.0) for i in range(9)]
    assert merge_trials(taps, trials).offset_s is None
    assert merge_trials(taps, trials, guess_s=10.0).offset_s == 5.0


def test_different_behaviours_never_match() -> None:
    taps = [TappedTrial(10.0, "sit", Outcome.MET)]
    merge = merge_trials(taps, [heard(8.0, 10.0, "down")], offset_s=0.0)
    assert (merge.n_both, merge.n_only_tapped, merge.n_only_heard) == (0, 1, 1)


def test_a_tap_further_off_than_the_tolerance_is_its_own_trial() -> None:
    taps = [TappedTrial(10.0, "sit", Outcome.MET)]
    assert merge_trials(taps, [heard(13.0, 14.1)], offset_s=0.0).n_both == 0
    assert merge_trials(taps, [heard(13.0, 14.1)], offset_s=0.0, rules=MergeRules(tolerance_s=5.0)).n_both == 1


def test_void_taps_are_left_out_and_an_empty_side_is_refused() -> None:
    with pytest.raises(InvalidInput, match="tapped 0, heard 1"):
        merge_trials([TappedTrial(10.0, "sit", Outcome.VOID)], [heard(8.0)])
