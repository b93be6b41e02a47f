"""Trial rules, one by one, and the figures with their ranges."""

import random

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.figures import Range, figures_of
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.core.recordings.trials import fold_trials, work_s

KINDS = {
    "yes": EventKind.MARKER,
    "click": EventKind.CLICK,
    "good": EventKind.PRAISE,
    "free": EventKind.RELEASE,
    "food": EventKind.REWARD,
    "broke": EventKind.BREAK,
    "met": EventKind.OUTCOME,
    "missed": EventKind.OUTCOME,
}


def at(start_s: float, label: str, **more: object) -> Event:
    state = EventState.SUGGESTED if "confidence" in more else EventState.CONFIRMED
    return Event(start_s, start_s + 0.2, KINDS.get(label, EventKind.CUE), label, **{"state": state, **more})


def folded(*events: Event, rules: TrialRules | None = None):
    return fold_trials(events, rules)


def test_a_cue_and_a_marker_are_a_trial_with_its_latency() -> None:
    (trial,) = folded(at(10, "sit"), at(11.5, "yes"))
    assert (trial.label, trial.n_repeats, trial.first_latency_s, trial.last_latency_s) == ("sit", 0, 1.5, 1.5)


def test_the_same_cue_within_four_seconds_is_a_repeat_and_both_latencies_are_kept() -> None:
    (trial,) = folded(at(10, "sit"), at(14, "sit"), at(15, "yes"))
    assert (trial.n_repeats, trial.first_latency_s, trial.last_latency_s) == (1, 5, 1)


def test_the_same_cue_later_than_that_is_a_new_trial_and_the_first_has_no_marker() -> None:
    first, second = folded(at(10, "sit"), at(14.1, "sit"), at(15, "yes"))
    assert first.marker is None
    assert second.first_latency_s == pytest.approx(0.9)


def test_the_same_cue_after_a_marker_is_a_new_trial() -> None:
    assert len(folded(at(10, "sit"), at(11, "yes"), at(12, "sit"), at(13, "yes"))) == 2


def test_another_cue_closes_the_trial_without_a_marker() -> None:
    first, second = folded(at(10, "sit"), at(12, "down"), at(13, "yes"))
    assert (first.marker, second.label, second.first_latency_s) == (None, "down", 1)


def test_a_marker_later_than_ten_seconds_after_the_last_cue_belongs_to_no_trial() -> None:
    (trial,) = folded(at(10, "sit"), at(20.1, "yes"))
    assert (trial.marker, trial.first_latency_s) == (None, None)


def test_praise_is_no_marker_and_ends_nothing() -> None:
    (trial,) = folded(at(10, "sit"), at(11, "good"), at(12, "yes"))
    assert trial.first_latency_s == 2


def test_a_click_and_a_word_within_three_tenths_are_one_marker() -> None:
    first, second = folded(at(10, "sit"), at(11, "click"), at(11.2, "yes"), at(12, "sit"), at(13, "yes"))
    assert (first.marker.label, second.first_latency_s) == ("click", 1)
    assert figures_of([at(10, "sit"), at(11, "click"), at(11.2, "yes")]).n_markers == Range(1, 1, 1)


def test_a_double_click_of_the_box_is_one_marker() -> None:
    assert figures_of([at(10, "sit"), at(11, "click"), at(11.25, "click")]).n_markers.value == 1


def test_rejected_events_never_count() -> None:
    assert folded(at(10, "sit", state=EventState.REJECTED), at(11, "yes")) == ()


@pytest.mark.parametrize(
    ("more", "counts"),
    [
        ({"confidence": 0.5}, True),
        ({"confidence": 0.49}, False),
        ({"confidence": None}, True),
        ({"confidence": 0.9, "in_talk": True}, False),
        ({"confidence": 0.1, "state": EventState.CONFIRMED}, True),
    ],
)
def test_unchecked_events_count_when_likely_and_outside_talk(more: dict[str, object], counts: bool) -> None:
    assert bool(folded(at(10, "sit", **more))) is counts


def test_no_latency_from_a_start_that_is_not_exact() -> None:
    (trial,) = folded(at(10, "sit", exact=False), at(11, "yes"))
    assert trial.marker is not None
    assert (trial.first_latency_s, trial.last_latency_s) == (None, None)


def test_order_of_arrival_does_not_matter() -> None:
    events = [at(10, "sit"), at(12, "sit"), at(13, "yes"), at(14, "food"), at(20, "down"), at(21, "click")]
    expected = fold_trials(events)
    random.Random(3).shuffle(events)
    assert fold_trials(events) == expected


HELD = TrialRules(hold_cues=frozenset({"stay"}))


@pytest.mark.parametrize(("end", "broke"), [("free", False), ("broke", True)])
def test_a_stay_is_held_until_the_release_or_the_break(end: str, broke: bool) -> None:
    (trial,) = folded(at(10, "stay"), at(20, "stay"), at(32, "yes"), at(35.5, end), rules=HELD)
    assert (trial.hold.held_s, trial.hold.broke, trial.hold.exact) == (25.5, broke, True)
    assert (trial.n_repeats, trial.first_latency_s) == (1, 22)


def test_a_stay_may_be_named_by_its_behaviour() -> None:
    (trial,) = folded(at(10, "bleib", behaviour="stay"), at(15, "free"), rules=HELD)
    assert trial.hold.held_s == 5


def test_another_cue_ends_a_stay_whose_length_is_then_unknown() -> None:
    stay, _ = folded(at(10, "stay"), at(30, "come"), at(31, "free"), rules=HELD)
    assert stay.hold is None


def test_a_release_after_another_cue_makes_no_hold() -> None:
    (trial,) = folded(at(10, "sit"), at(12, "free"), rules=HELD)
    assert trial.hold is None


def test_the_dogs_outcome_is_added_by_a_person_and_the_last_word_stands() -> None:
    first, second = folded(
        at(10, "sit"), at(12, "missed"), at(20, "sit"), at(21, "yes"), at(22, "missed"), at(23, "met")
    )
    assert (first.outcome, second.outcome) == ("missed", "met")


def test_the_reward_after_the_marker_has_its_delay() -> None:
    (trial,) = folded(at(10, "sit"), at(11, "yes"), at(12.5, "food"), at(13, "food"))
    assert trial.reward_delay_s == 1.5
    assert folded(at(10, "sit"), at(11, "yes"), at(21.5, "food"))[0].reward is None


def test_rate_of_reinforcement_leaves_pauses_over_a_minute_out() -> None:
    events = [at(0, "sit"), at(2, "yes"), at(10, "sit"), at(20, "yes"), at(100, "sit"), at(110, "yes"), at(500, "good")]
    assert work_s(events, TrialRules()) == 30.0
    assert figures_of(events).rate_per_min.value == pytest.approx(6.0)


def test_without_a_marker_after_a_cue_there_is_no_rate() -> None:
    assert figures_of([at(5, "yes"), at(10, "sit")]).rate_per_min == Range(None, None, None)
    assert figures_of([]).n_trials == Range(0, 0, 0)


def test_checked_events_have_no_range() -> None:
    figures = figures_of([at(10, "sit"), at(12, "yes"), at(20, "sit"), at(22, "sit"), at(25, "yes")])
    assert figures.n_unchecked == 0
    assert figures.repeats_per_trial == Range(0.5, 0.5, 0.5)
    assert figures.first_latency_s == Range(3.5, 3.5, 3.5)
    assert figures.last_latency_s == Range(2.5, 2.5, 2.5)


def test_an_unchecked_repeat_and_marker_widen_what_they_touch() -> None:
    events = [at(10, "sit"), at(12, "sit", confidence=0.4), at(13, "yes"), at(20, "sit"), at(21, "yes", confidence=0.8)]
    figures = figures_of(events)
    assert figures.n_unchecked == 2
    assert figures.n_trials == Range(2, 2, 2)
    assert figures.n_repeats == Range(0, 0, 1)
    assert figures.n_markers == Range(2, 1, 2)
    assert figures.last_latency_s == Range(2.0, 1.0, 3.0)


def test_hidden_suggestions_widen_nothing() -> None:
    figures = figures_of([at(10, "sit"), at(12, "yes"), at(20, "sit", confidence=0.2)])
    assert (figures.n_unchecked, figures.n_trials) == (0, Range(1, 1, 1))


def test_impossible_rules_are_refused_all_at_once() -> None:
    with pytest.raises(InvalidInput) as refused:
        TrialRules(repeat_within_s=0.0, marker_within_s=float("nan"), count_from=2.0)
    assert [problem.where for problem in refused.value.problems] == ["repeat_within_s", "marker_within_s", "count_from"]
