"""Whatever the history, the pay changes by one step at a time, never thinner within a session, and says why."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from engine_cases import START, WAIT, series
from pupilage.core.training.record.evidence import Trial
from pupilage.core.training.rewards.thinning import RATIOS, thin

ZONE = START.tzinfo


@st.composite
def sessions(draw: st.DrawFn) -> list[list[Trial]]:
    """Draw a session a day, mostly at the goal and mostly met, paid as it comes."""
    found = []
    for n in range(draw(st.integers(0, 8))):
        letters = draw(st.text(alphabet="mmmmmmmxhv", max_size=14))
        step = draw(st.sampled_from(["d", "d", "d", "c", "gone"]))
        latencies = draw(st.lists(st.none() | st.floats(0.0, 30.0), max_size=14))
        trials = series(letters, step=step, session=f"s{n}", start=START + timedelta(days=n), latencies_s=latencies)
        food = draw(st.sampled_from([1, 2, 3]))
        found.append([replace(t, pieces=int(i % food == 0)) for i, t in enumerate(trials)])
    return found


@given(sessions())
def test_pay_changes_by_one_step_never_thinner_within_a_session_and_says_why(record):
    so_far: list[Trial] = []
    before = thin(WAIT, "d", so_far, session_id="s0", zone=ZONE)
    assert before.level == 0
    for n, trials in enumerate(record):
        now = thin(WAIT, "d", so_far, session_id=f"s{n}", zone=ZONE)
        assert abs(now.level - before.level) <= 1
        for trial in trials:
            so_far.append(trial)
            after = thin(WAIT, "d", so_far, session_id=f"s{n}", zone=ZONE)
            assert 0 <= after.level < len(RATIOS)
            assert now.level - 1 <= after.level <= now.level
            assert "{" not in str(after.reason)
            now = after
        before = now
