"""The forecast moves the right way: more met trials, or more sessions left, never lower it."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from hypothesis import example, given
from hypothesis import strategies as st

from engine_cases import WAIT, day, series
from pupilage.core.planning.proposal import GoalState, current_step, propose_sessions
from pupilage.core.training.evidence import SessionKind, Trial
from pupilage.core.training.forecast import forecast

EPSILON = 1e-12
"""Rounding in the beta-binomial sums."""

rows = st.lists(st.tuples(st.sampled_from("abcd"), st.text(alphabet="mxhv", min_size=1, max_size=14)), max_size=7)
targets = st.sampled_from("abcd")
n_left = st.integers(0, 30)


def history(rows: list[tuple[str, str]]) -> list[Trial]:
    """Return one session a row, a day apart."""
    return [
        trial
        for n, (step, letters) in enumerate(rows)
        for trial in series(letters, step=step, session=f"s{n}", start=day(n))
    ]


def told(rows: list[tuple[str, str]], target: str, left: int):
    return forecast(WAIT, target, history(rows), now=day(30), sessions_left=left)


def never_lower(before, after) -> None:
    if before.p is not None:
        assert after.p is not None
        assert after.p >= before.p - EPSILON


@given(rows, targets, n_left)
def test_every_history_gets_a_chance_with_its_range_or_says_that_it_is_not_enough(rows, target, left):
    found = told(rows, target, left)
    if found.p is None:
        assert (found.low, found.high) == (None, None)
        assert "Not enough yet" in str(found.reason)
    else:
        assert 0.0 <= found.low <= found.p <= found.high <= 1.0
    assert "{" not in str(found.reason)


@given(rows, targets, n_left, st.integers(1, 10))
def test_more_sessions_left_never_lower_it(rows, target, left, more):
    never_lower(told(rows, target, left), told(rows, target, left + more))


@example(rows=[("a", "h"), ("a", "h"), ("b", "hhhh")], target="b", left=0)  # the fifth trial makes a lower possible
@given(rows.filter(bool), targets, n_left)
def test_one_more_met_in_the_newest_session_never_lowers_it(rows, target, left):
    step, letters = rows[-1]
    never_lower(told(rows, target, left), told([*rows[:-1], (step, letters + "m")], target, left))


@given(rows.filter(bool), targets, n_left, st.data())
def test_missed_trial_turned_met_never_lowers_it(rows, target, left, data):
    which = data.draw(st.integers(0, len(rows) - 1))
    step, letters = rows[which]
    at = data.draw(st.integers(0, len(letters) - 1))
    if letters[at] == "v":
        return  # a void trial turned met is one trial more, in a session that is over
    better = (step, letters[:at] + "m" + letters[at + 1 :])
    never_lower(told(rows, target, left), told([*rows[:which], better, *rows[which + 1 :]], target, left))


@given(rows.filter(bool), n_left)
def test_nearer_target_is_never_less_likely_while_it_lies_ahead(rows, left):
    standing = WAIT.step_index(current_step(WAIT, history(rows)))
    ahead = [told(rows, step.key, left).p for step in WAIT.steps[standing + 1 :]]
    if None not in ahead:
        assert all(near >= far - EPSILON for near, far in pairwise(ahead))


@given(rows, targets, n_left, st.randoms(use_true_random=False))
def test_order_in_which_trials_are_given_does_not_matter(rows, target, left, random):
    trials = history(rows)
    shuffled = random.sample(trials, len(trials))
    assert forecast(WAIT, target, shuffled, now=day(30), sessions_left=left) == told(rows, target, left)


@given(rows)
def test_probes_say_nothing_once_there_is_training(rows):
    probes = series("mxmxm", step="d", session="p", kind=SessionKind.PROBE)
    if rows:
        with_probes = forecast(WAIT, "d", [*probes, *history(rows)], now=day(30), sessions_left=5)
        assert with_probes == told(rows, "d", 5)


@st.composite
def goals(draw: st.DrawFn) -> list[GoalState]:
    trained = st.none() | st.integers(0, 10_000).map(lambda minutes: day(30) - timedelta(minutes=minutes))
    return [
        GoalState(
            behaviour=replace(WAIT, key=f"b{n}"),
            step=draw(st.sampled_from("abcd")),
            target=draw(st.sampled_from("abcd")),
            weight=draw(st.integers(1, 5)),
            p_ready=draw(st.none() | st.floats(0, 1)),
            last_trained_at=draw(trained),
            n_sessions_today=draw(st.integers(0, 3)),
            prerequisites_met=draw(st.booleans()),
            old_enough=draw(st.booleans()),
        )
        for n in range(draw(st.integers(0, 6)))
    ]


@given(goals(), st.integers(0, 12))
def test_proposals_break_no_rule(states, limit):
    found = propose_sessions(states, now=day(30), limit=limit)
    by_key = {state.behaviour.key: state for state in states}
    keys = [proposal.behaviour_key for proposal in found]
    assert len(found) <= limit
    assert all(one != after for one, after in pairwise(keys))
    for key in keys:
        state = by_key[key]
        assert state.old_enough
        assert state.prerequisites_met
        assert state.n_sessions_today + keys.count(key) <= 2
