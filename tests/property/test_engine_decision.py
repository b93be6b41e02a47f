"""Whatever the history, the rule answers; and it answers in the right direction."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from engine_cases import LETTERS, MAT, START, WAIT, hold_trials, known_of, series
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.advice import Action, judge_counts
from pupilage.core.training.criterion.decision import decide
from pupilage.core.training.criterion.holds import MIN_TARGET_S, believe_holds, next_target
from pupilage.core.training.posterior.belief import belief_from_counts, believe
from pupilage.core.training.posterior.intervals import clopper_pearson, wilson
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind, Trial

letters = st.text(alphabet="mxhv", max_size=30)
counts = st.integers(0, 60)

SEVERITY = {Action.LOWER: 0, None: 1, Action.RAISE: 2}


@st.composite
def histories(draw: st.DrawFn) -> list[Trial]:
    """Draw the trials of a dog: any steps, outcomes, latencies, sessions, probes, gaps and ties in time."""
    at, trials = START, []
    for n in range(draw(st.integers(0, 40))):
        at += timedelta(seconds=draw(st.sampled_from([0, 1, 5, 30, 400, 90_000])))
        trials.append(
            Trial(
                event_id=f"e{n}",
                session_id=draw(st.sampled_from(["s1", "s2", "s3"])),
                at=at,
                behaviour=WAIT.key,
                step=draw(st.sampled_from(["a", "b", "c", "d", "gone"])),
                outcome=draw(st.sampled_from(list(Outcome))),
                kind=draw(st.sampled_from([SessionKind.TRAINING] * 4 + [SessionKind.PROBE])),
                latency_s=draw(st.none() | st.floats(0, 60)),
                pieces=draw(st.integers(0, 3)),
            )
        )
    return trials


def decided(trials: Sequence[Trial], step: str = "b", session_id: str | None = "s1", pieces: int | None = None):
    now = max([START, *(trial.at for trial in trials)])
    return decide(WAIT, step, known_of(trials), session_id=session_id, now=now, pieces_left=pieces)


@given(histories(), st.sampled_from("abcd"), st.none() | st.sampled_from(["s1", "s9"]), st.none() | st.integers(0, 60))
def test_every_history_gets_a_decision_with_a_readable_reason(trials, step, session_id, pieces):
    found = decided(trials, step, session_id, pieces)
    assert WAIT.step(found.step) is not None
    assert str(found.reason)
    assert "{" not in str(found.reason)
    moved = WAIT.step_index(found.step) - WAIT.step_index(step)
    if found.action is not Action.PAUSE:
        assert moved == {Action.RAISE: 1, Action.KEEP: 0, Action.LOWER: -1}[found.action]


@given(histories(), st.sampled_from("abcd") | st.text(max_size=4))
def test_only_an_unknown_step_is_refused(trials, step):
    if WAIT.step(step) is None:
        with pytest.raises(InvalidInput, match="its steps are"):
            decided(trials, step)
    else:
        decided(trials, step)


@given(histories(), st.randoms(use_true_random=False))
def test_order_in_which_trials_are_given_does_not_matter(trials, random):
    spread = [replace(t, at=t.at + timedelta(milliseconds=n)) for n, t in enumerate(trials)]
    shuffled = random.sample(spread, len(spread))
    assert decided(shuffled) == decided(spread)


@given(histories(), st.data())
def test_any_split_of_the_record_gives_the_same_knowledge(trials, data):
    in_time = sorted(trials, key=lambda trial: trial.at)
    cut = data.draw(st.integers(0, len(in_time)))
    earlier = know({WAIT.key: WAIT}, in_time[:cut])
    now = max([START, *(trial.at for trial in trials)])
    at_once, in_two = know({WAIT.key: WAIT}, in_time), know({WAIT.key: WAIT}, in_time, earlier=earlier)
    assert at_once.trials == in_two.trials
    assert at_once.of(WAIT.key) == in_two.of(WAIT.key)
    for step in range(4):
        one, other = (read_step(known.at(WAIT.key, now), step).mean for known in (at_once, in_two))
        assert one == pytest.approx(other, abs=1e-12)


@given(histories(), st.randoms(use_true_random=False), st.data())
def test_a_record_that_is_gone_on_with_may_be_given_in_any_order(trials, random, data):
    spread = [replace(t, at=t.at + timedelta(milliseconds=n)) for n, t in enumerate(trials)]
    shuffled = random.sample(spread, len(spread))
    cut = data.draw(st.integers(0, len(spread)))
    earlier = know({WAIT.key: WAIT}, shuffled[:cut])
    gone_on = know({WAIT.key: WAIT}, [*earlier.trials, *shuffled[cut:]], earlier=earlier)
    at_once = know({WAIT.key: WAIT}, spread)
    assert gone_on.trials == at_once.trials
    assert gone_on.of(WAIT.key) == at_once.of(WAIT.key)


@given(letters)
def test_order_of_outcomes_does_not_matter_to_the_belief(text):
    assert believe(series(text)) == believe(series("".join(sorted(text))))


@given(letters)
def test_void_trials_change_nothing(text):
    assert believe(series(text)) == believe(series(text.replace("v", "")))


@given(counts, counts)
def test_one_more_met_never_lowers_the_belief_and_one_more_missed_never_raises_it(met, missed):
    before = belief_from_counts(met, missed)
    better, worse = belief_from_counts(met + 1, missed), belief_from_counts(met, missed + 1)
    assert worse.mean <= before.mean <= better.mean
    assert worse.p_at_least(0.6) <= before.p_at_least(0.6) + 1e-12
    assert before.p_at_least(0.6) <= better.p_at_least(0.6) + 1e-12
    assert before.chance_of_at_least(8, 10) <= better.chance_of_at_least(8, 10) + 1e-12


@given(st.text(alphabet="mxh", min_size=1, max_size=20), st.data())
def test_missed_trial_turned_met_never_makes_the_verdict_harder(text, data):
    at = data.draw(st.integers(0, len(text) - 1))
    better = text[:at] + "m" + text[at + 1 :]
    assert SEVERITY[verdict(better)] >= SEVERITY[verdict(text)]


def verdict(text: str) -> Action | None:
    n_met, row = text.count("m"), len(text) - len(text.rstrip("x"))
    return judge_counts(n_met, len(text) - n_met, row)


@given(counts, counts, st.floats(0.5, 0.999))
def test_both_intervals_lie_in_order_within_nought_and_one(met, missed, level):
    for interval in (clopper_pearson, wilson):
        low, high = interval(met, met + missed, level)
        assert 0.0 <= low <= high <= 1.0
        if met + missed:
            assert low - 1e-12 <= met / (met + missed) <= high + 1e-12


seconds = st.floats(0, 600)
holds_made = st.lists(st.builds(Hold, held_s=seconds, target_s=seconds, broke=st.booleans()), max_size=30)


@given(st.floats(0.1, 1200), holds_made, st.integers(0, 40))
def test_next_target_keeps_its_bounds(criterion_s, holds, n_in_session):
    found = next_target(criterion_s, holds, n_in_session=n_in_session)
    assert MIN_TARGET_S <= found.target_s <= 1.5 * criterion_s + 1e-9
    assert found.target_s == MIN_TARGET_S or found.p_hold >= 0.6 - 1e-9
    assert 0.0 <= found.p_hold <= 1.0
    assert found == next_target(criterion_s, holds, n_in_session=n_in_session)
    if not holds:
        assert found.target_s <= max(MIN_TARGET_S, 0.25 * criterion_s)


@given(st.floats(1, 600), holds_made, seconds)
def test_longer_hold_without_a_break_never_lowers_the_median(criterion_s, holds, held_s):
    recent = holds[-19:]
    longer = [*recent, Hold(held_s, held_s, broke=False)]
    assert believe_holds(criterion_s, longer).median_s >= believe_holds(criterion_s, recent).median_s - 1e-9


@given(st.lists(st.tuples(seconds, seconds, st.booleans()), max_size=20), st.sampled_from("abc"))
def test_every_history_of_holds_gets_a_decision(holds, step):
    trials = hold_trials(*holds, step=step)
    now = START + timedelta(hours=1)
    found = decide(MAT, step, known_of(trials, MAT), session_id="s1", now=now)
    assert MAT.step(found.step) is not None
    if found.action is Action.RAISE:
        full_s = MAT.step(step).criterion.duration_s
        assert sum(held >= full_s for held, _, _ in holds) >= 3


def test_letters_cover_every_outcome():
    assert set(LETTERS.values()) == set(Outcome)
