"""The forecast answers whatever the history, within its range, and moves the right way with more sessions."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from engine_cases import WAIT, day, known_of, series
from pupilage.core.planning.proposal import GoalState, propose_sessions
from pupilage.core.planning.sharing import Share
from pupilage.core.training.outlook.course import spread_sessions
from pupilage.core.training.outlook.forecast import forecast
from pupilage.core.training.record.evidence import Trial

rows = st.lists(st.tuples(st.sampled_from("abcd"), st.text(alphabet="mxhv", min_size=1, max_size=14)), max_size=7)
targets = st.sampled_from("abcd")
n_left = st.integers(0, 20)

PLAYED_ON = 0.02
"""512 dogs with a fixed table of chance stand for the posterior: a difference below their error is none."""


def history(rows: list[tuple[str, str]]) -> list[Trial]:
    """Return one session a row, a day apart."""
    return [
        trial
        for n, (step, letters) in enumerate(rows)
        for trial in series(letters, step=step, session=f"s{n}", start=day(n))
    ]


def told(rows: list[tuple[str, str]], target: str, left: int):
    return forecast(WAIT, target, known_of(history(rows)), now=day(8), sessions=spread_sessions(left, 10))


@settings(max_examples=40)
@given(rows, targets, n_left)
def test_every_history_gets_a_chance_with_its_range_or_says_that_it_is_not_enough(rows, target, left):
    found = told(rows, target, left)
    if found.p is None:
        assert (found.low, found.high, found.without_work, found.one_more_a_day) == (None, None, None, None)
        assert "Not enough yet" in str(found.reason)
    else:
        assert 0.0 <= found.low <= found.p <= found.high <= 1.0
        assert 0.0 <= found.without_work <= 1.0
    assert "{" not in str(found.reason)


@settings(max_examples=30)
@given(rows.filter(lambda rows: len(rows) >= 3), targets)
def test_session_a_day_more_is_not_worth_less_than_none_at_all(rows, target):
    found = told(rows, target, 6)
    if found.p is not None:
        assert found.one_more_a_day >= found.without_work - PLAYED_ON


@settings(max_examples=30)
@given(rows, targets, n_left, st.randoms(use_true_random=False))
def test_order_in_which_trials_are_given_does_not_matter(rows, target, left, random):
    trials = history(rows)
    shuffled = random.sample(trials, len(trials))
    mixed = forecast(WAIT, target, known_of(shuffled), now=day(8), sessions=spread_sessions(left, 10))
    assert mixed == told(rows, target, left)


@st.composite
def goals(draw: st.DrawFn) -> list[GoalState]:
    trained = st.none() | st.integers(0, 10_000).map(lambda minutes: day(30) - timedelta(minutes=minutes))
    return [
        GoalState(
            behaviour=replace(WAIT, key=f"b{n}"),
            step=draw(st.sampled_from("abcd")),
            target=draw(st.sampled_from("abcd")),
            weight=draw(st.integers(1, 5)),
            share=Share(draw(st.integers(0, 20)), *(draw(st.floats(0, 1)) for _ in range(4))),
            gain=draw(st.floats(0, 2)),
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
