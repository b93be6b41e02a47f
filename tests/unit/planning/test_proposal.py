"""What to train next, and why."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from engine_cases import START, ladder
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.proposal import GoalState, propose_sessions
from pupilage.core.planning.sharing import Share

NOW = START


def share(n: int = 10, *, worth: float = 0.1, without: float = 0.2, planned: float = 0.6) -> Share:
    """Return ten sessions that lift the chance from 0.2 to 0.6, or others."""
    return Share(n, without, planned, max(planned, 0.7), worth)


NONE = share(0, worth=0.05, planned=0.2)


def goal(key: str = "sit", **changes: object) -> GoalState:
    """Return a goal in mid-training, trained two days ago."""
    plain = GoalState(
        behaviour=ladder(0.0, 0.0, 0.0, key=key),
        step="b",
        target="c",
        weight=3,
        share=share(),
        gain=0.1,
        p_ready=0.5,
        last_trained_at=NOW - timedelta(days=2),
        n_sessions_today=0,
        prerequisites_met=True,
        old_enough=True,
    )
    return replace(plain, **changes)


def keys(*states: GoalState, **more: int) -> list[str]:
    return [proposal.behaviour_key for proposal in propose_sessions(states, now=NOW, **more)]


def test_no_goals_give_no_proposals():
    assert keys() == []


def test_session_that_is_worth_more_comes_first():
    poor, rich = goal("sit", gain=0.1), goal("recall", gain=0.3)
    assert keys(poor, rich, limit=2) == ["recall", "sit"]


def test_untrained_behaviour_says_how_many_sessions_are_planned():
    first = propose_sessions([goal("mat", p_ready=None, last_trained_at=None)], now=NOW)[0]
    assert (first.behaviour_key, first.step_key) == ("mat", "b")
    assert str(first.reason) == "Not trained yet: begin. Sessions planned: 10."


def test_goal_that_the_plan_leaves_out_comes_last_and_says_why():
    hopeless = goal("recall", gain=0.4, share=share(0, without=0.01, planned=0.01))
    found = propose_sessions([hopeless, goal("sit")], now=NOW)
    assert [proposal.behaviour_key for proposal in found[:2]] == ["sit", "recall"]
    assert "Not in the plan" in str(found[1].reason)


def test_behaviour_that_another_goal_waits_for_comes_first():
    opener = goal("settle", gain=0.05, opens=0.5)
    found = propose_sessions([goal("sit"), opener], now=NOW)[0]
    assert (found.behaviour_key, str(found.reason)) == ("settle", "Another goal waits until this one is met.")


def test_ties_keep_the_order_given():
    assert keys(goal("b"), goal("a"), goal("c")) == ["b", "a", "c"]


@pytest.mark.parametrize("changes", [{"old_enough": False}, {"prerequisites_met": False}, {"n_sessions_today": 2}])
def test_too_young_too_early_or_trained_twice_today_is_left_out(changes):
    assert keys(goal("sit", **changes), goal("mat"), limit=1) == ["mat"]
    assert keys(goal("sit", **changes)) == []


def test_one_trained_last_today_does_not_come_first_again():
    just = goal("sit", gain=0.9, n_sessions_today=1, last_trained_at=NOW - timedelta(minutes=20))
    earlier = goal("mat", n_sessions_today=1, last_trained_at=NOW - timedelta(hours=4))
    assert keys(just, earlier, limit=1) == ["mat"]


def test_one_trained_last_today_comes_when_there_is_no_other():
    just = goal("sit", n_sessions_today=1, last_trained_at=NOW - timedelta(minutes=20))
    assert keys(just) == ["sit"]


def test_same_behaviour_never_stands_twice_in_a_row_nor_three_times_in_a_day():
    found = keys(goal("sit", gain=0.9), goal("mat"), goal("recall"), limit=9)
    assert all(one != after for one, after in pairwise(found))
    assert max(found.count(key) for key in found) == 2


def test_single_behaviour_is_proposed_once():
    assert keys(goal("sit"), limit=5) == ["sit"]


def test_behaviour_at_its_goal_rests_until_maintenance_is_due():
    resting = goal("sit", step="c", p_ready=0.9, share=NONE)
    due = goal("sit", step="c", p_ready=0.9, share=NONE, last_trained_at=NOW - timedelta(days=4))
    assert keys(resting) == []
    found = propose_sessions([due], now=NOW)[0]
    assert str(found.reason) == "At its goal, last trained 4 days ago: due again."


def test_behaviour_at_its_goal_that_the_plan_gives_sessions_goes_on():
    assert keys(goal("sit", step="c")) == ["sit"]


def test_reason_gives_the_chance_or_says_that_it_is_too_early():
    assert str(propose_sessions([goal()], now=NOW)[0].reason).replace("\N{NO-BREAK SPACE}", " ") == (
        "Sessions planned: 10. They lift the chance at the hand-over from 20 % to 60 %."
    )
    assert "Too few sessions" in str(propose_sessions([goal(p_ready=None)], now=NOW)[0].reason)


@pytest.mark.parametrize(("limit", "n"), [(0, 0), (-1, 0), (1, 1), (2, 2)])
def test_limit_is_kept(limit, n):
    assert len(keys(goal("a"), goal("b"), goal("c"), limit=limit)) == n


def test_figures_that_cannot_be_are_refused_together():
    with pytest.raises(InvalidInput) as raised:
        propose_sessions([goal(p_ready=float("nan")), goal(weight=0)], now=NOW)
    assert {problem.where for problem in raised.value.problems} == {"p_ready", "weight"}


@pytest.mark.parametrize("changes", [{"step": "z"}, {"target": "z"}])
def test_unknown_steps_are_refused(changes):
    with pytest.raises(InvalidInput, match="its steps are a, b, c"):
        propose_sessions([goal(**changes)], now=NOW)


def test_naive_instants_are_refused():
    naive = NOW.replace(tzinfo=None)
    with pytest.raises(InvalidInput, match="now"):
        propose_sessions([goal()], now=naive)
    with pytest.raises(InvalidInput, match="last_trained_at"):
        propose_sessions([goal(last_trained_at=naive)], now=NOW)
