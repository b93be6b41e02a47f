"""The plan of a stay made from a record: its days, its reasons, what it refuses."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.planned_session import Purpose
from pupilage.core.planning.programme.clashes import NoPlan
from pupilage.core.planning.programme.making import make_plan
from pupilage.core.planning.programme.plan import FAMILY, NEW_PERSON, ProgrammePlan, sessions_of_day, still_to_hold
from pupilage.core.planning.programme.prospects import PlanInput
from pupilage.core.planning.programme.room import Circumstances
from pupilage.core.planning.programme.storing import plan_from_json, plan_to_json
from pupilage.core.planning.programme.what_if import WhatIf, Wish, compare_plans
from pupilage.core.planning.standing import Frame, GoalAim
from pupilage.core.training.outlook.chances import chance_with
from pupilage.core.training.outlook.course import Sessions
from pupilage.core.training.posterior.knowledge import Knowledge, know
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

NOW = datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
TODAY = date(2026, 5, 12)
FRAME = Frame(date(2026, 2, 25), date(2026, 5, 2), date(2026, 5, 23), 5, ZoneInfo("Europe/Lisbon"))
CATALOGUE = load_bundled()


def aim(key: str, weight: int = 3, step: str | None = None) -> GoalAim:
    return GoalAim(key, step or CATALOGUE.behaviours[key].target, weight)


def near(key: str, place: int, weight: int = 3) -> GoalAim:
    return GoalAim(key, CATALOGUE.behaviours[key].steps[place].key, weight)


GIVEN = PlanInput((near("sit", 3), near("down", 4), near("settle-on-mat", 3, 5), near("hand-target", 2)), FRAME)


def met(behaviour: str, place: int, n: int, *, days_ago: float) -> list[Trial]:
    """Return a session of n tries met at a step."""
    at = NOW - timedelta(days=days_ago)
    return [
        Trial(
            event_id=f"{behaviour}-{days_ago}-{i}",
            session_id=f"{behaviour}-{days_ago}",
            at=at + timedelta(seconds=20 * i),
            behaviour=behaviour,
            step=CATALOGUE.behaviours[behaviour].steps[place].key,
            outcome=Outcome.MET,
            kind=SessionKind.TRAINING,
            pieces=1,
        )
        for i in range(n)
    ]


def knowing(*trials: list[Trial]) -> Knowledge:
    return know(CATALOGUE.behaviours, [trial for some in trials for trial in some], zone=FRAME.zone)


def make(given: PlanInput = GIVEN, known: Knowledge | None = None, now: datetime = NOW) -> ProgrammePlan:
    return make_plan(given, known or knowing(), catalogue=CATALOGUE, now=now)


@pytest.fixture(scope="module")
def plan() -> ProgrammePlan:
    return make()


def test_plan_has_every_day_until_the_hand_over_and_ends_with_the_cold_tries(plan: ProgrammePlan) -> None:
    assert [day.day for day in plan.days] == [TODAY + timedelta(days=n) for n in range(11)]
    last = sessions_of_day(plan, date(2026, 5, 22))
    probes = [one for one in last if one.purpose is Purpose.PROBE]
    assert {one.behaviour for one in probes} == {one.behaviour for one in GIVEN.aims}
    assert last[: len(probes)] == tuple(probes)
    assert {one.who for one in probes} == {FAMILY}
    assert {one.step for one in probes} == {one.step for one in GIVEN.aims}


def test_no_behaviour_follows_itself(plan: ProgrammePlan) -> None:
    for day in plan.days:
        taught = [one.behaviour for one in day.sessions if one.purpose is not Purpose.PROBE]
        assert all(a != b for a, b in pairwise(taught))


def test_chances_are_those_of_the_forecast_for_the_days_of_the_plan(plan: ProgrammePlan) -> None:
    behaviour = CATALOGUE.behaviours["sit"]
    sessions = Sessions(
        tuple(sum(s.behaviour == "sit" and s.purpose is not Purpose.PROBE for s in day.sessions) for day in plan.days)
    )
    expected = chance_with(knowing().at("sit", NOW), step=0, target=3, sessions=sessions)
    goal = plan.goal("sit")
    assert behaviour.steps[3].key == goal.target
    assert goal.p_with == pytest.approx(expected)
    assert goal.p_without <= goal.p_with
    assert goal.n_sessions == sessions.n


def test_sure_goals_go_elsewhere_before_the_cold_tries(plan: ProgrammePlan) -> None:
    sure = [goal.behaviour for goal in plan.goals if goal.p_with >= 0.6 and goal.n_sessions >= 8]
    assert sure
    for key in sure:
        last = [one for day in plan.days[-6:-1] for one in day.sessions if one.behaviour == key]
        elsewhere = [one for one in last if one.purpose is Purpose.ELSEWHERE]
        assert len(elsewhere) == 2
        assert {one.who for one in elsewhere} == {"", NEW_PERSON}


def test_same_record_gives_the_same_plan_and_json_gives_it_back(plan: ProgrammePlan) -> None:
    assert make() == plan
    assert plan_from_json(json.loads(json.dumps(plan_to_json(plan)))) == plan
    assert plan_from_json({"format": 0}) is None


def test_sessions_held_today_are_of_the_plan_and_not_asked_for_again() -> None:
    given = replace(GIVEN, around=Circumstances(held_today={"sit": 1, "settle-on-mat": 1}))
    held, morning = make(given), make()
    assert len(held.days[0].sessions) <= 3
    assert held.proof.value <= morning.proof.value + 1e-9
    left = still_to_hold(sessions_of_day(morning, TODAY), {"sit": 1})
    n = sum(one.behaviour == "sit" for one in sessions_of_day(morning, TODAY))
    assert sum(one.behaviour == "sit" for one in left) == max(0, n - 1)


def test_prerequisite_is_begun_before_what_builds_on_it() -> None:
    given = PlanInput((near("sit", 3, 1), near("stay", 2, 5)), FRAME)
    plan = make(given)
    sit, stay = plan.goal("sit"), plan.goal("stay")
    assert stay.n_sessions > 0
    assert sit.begins_on < stay.begins_on


def test_met_prerequisite_lets_the_other_begin_today() -> None:
    plan = make(PlanInput((near("stay", 2, 5),), FRAME), knowing(met("sit", 0, 5, days_ago=2)))
    assert plan.goal("stay").begins_on == TODAY
    assert plan.clashes == ()


def test_goal_whose_prerequisite_is_missing_is_named_with_it() -> None:
    plan = make(PlanInput((near("sit", 3), aim("alone-at-home", 5)), FRAME))
    assert plan.goal("alone-at-home").n_sessions == 0
    (clash,) = plan.clashes
    assert "can have no session" in str(clash.what)
    assert "builds on “Rests quietly in the crate”" in str(clash.rules[0])
    assert "Make “Rests quietly in the crate” a goal" in str(clash.ways[0])


def test_goal_that_the_pup_is_too_young_for_names_age_and_hand_over() -> None:
    frame = replace(FRAME, born_on=TODAY - timedelta(weeks=8), handover_on=TODAY + timedelta(days=10))
    plan = make(PlanInput((near("sit", 2), aim("stay", 5)), frame), knowing(met("sit", 0, 5, days_ago=1)))
    (clash,) = plan.clashes
    assert [str(rule) for rule in clash.rules] == [
        "The hand-over is on Fri 22 May.",
        "“Stays until released” begins at 10 weeks of age.",
    ]


def test_hand_over_tomorrow_plans_today_and_says_that_nothing_new_will_hold() -> None:
    plan = make(replace(GIVEN, frame=replace(FRAME, handover_on=TODAY + timedelta(days=1))))
    assert len(plan.days) == 1
    assert any("tomorrow" in str(clash.what) for clash in plan.clashes)
    assert any(one.purpose is Purpose.PROBE for one in plan.days[0].sessions)


def test_day_off_on_the_day_of_the_cold_tries_moves_them_and_says_so() -> None:
    last = date(2026, 5, 22)
    plan = make(replace(GIVEN, around=Circumstances(days_off=(last,))))
    assert sessions_of_day(plan, last) == ()
    assert any(one.purpose is Purpose.PROBE for one in sessions_of_day(plan, date(2026, 5, 21)))
    (clash,) = plan.clashes
    assert [str(rule) for rule in clash.rules] == [
        "The last day before the hand-over, Fri 22 May, is for the cold tries.",
        "Days off: Fri 22 May.",
    ]


def refused(given: PlanInput, now: datetime = NOW) -> str:
    with pytest.raises(NoPlan) as caught:
        make(given, now=now)
    return str(caught.value)


def test_no_goals_is_refused_in_words() -> None:
    assert "no goals" in refused(replace(GIVEN, aims=()))


def test_hand_over_today_is_refused_in_words() -> None:
    assert "no day left" in refused(replace(GIVEN, frame=replace(FRAME, handover_on=TODAY)))


def test_no_hours_on_any_day_names_the_minutes() -> None:
    said = refused(replace(GIVEN, around=Circumstances(minutes_a_day=2)))
    assert "No day before the hand-over has room" in said
    assert "Your minutes leave room for 0 sessions." in said


def test_every_day_off_names_the_days_off_and_the_hand_over() -> None:
    every = tuple(TODAY + timedelta(days=n) for n in range(11))
    said = refused(replace(GIVEN, around=Circumstances(days_off=every)))
    assert "Every day until the hand-over is a day off." in said
    assert "The hand-over is on Sat 23 May." in said
    assert "minutes" not in said


def test_too_little_food_is_named() -> None:
    said = refused(replace(GIVEN, around=Circumstances(pieces_a_day=4)))
    assert "food is not enough" in said
    assert "feed no less" in said


def test_pup_of_three_weeks_is_not_planned_for_and_one_of_sixty_is() -> None:
    assert "age" in refused(replace(GIVEN, frame=replace(FRAME, born_on=NOW.date() - timedelta(weeks=3))))
    assert make(replace(GIVEN, frame=replace(FRAME, born_on=NOW.date() - timedelta(weeks=60)))).days


def test_goal_out_of_reach_is_seen_on_day_one() -> None:
    short = replace(FRAME, handover_on=TODAY + timedelta(days=3))
    plan = make(PlanInput((aim("recall", 5), aim("name-response", 5)), short))
    assert plan.goal("recall").p_most < 0.2
    assert not plan.goal("recall").is_own


def test_goals_that_want_more_days_say_what_gives_way() -> None:
    aims = tuple(aim(key, 4) for key in ("sit", "down", "settle-on-mat", "drop", "handling", "hand-target"))
    plan = make(PlanInput(aims, replace(FRAME, sessions_a_day=2)))
    assert plan.reliefs
    first = plan.reliefs[0]
    assert first.step is not None or first.n_freed > 0
    assert first.changes or first.step is not None


def test_behaviour_at_its_goal_is_kept_up() -> None:
    record = [met("sit", 1, 10, days_ago=day) for day in (6, 5, 4, 3, 2, 1)]
    plan = make(PlanInput((near("sit", 1, 4), near("down", 5)), FRAME), knowing(*record))
    upkeep = [day.day for day in plan.days for one in day.sessions if one.behaviour == "sit"]
    every = CATALOGUE.behaviours["sit"].maintain_every_days
    assert upkeep[0] <= TODAY + timedelta(days=every)
    assert max((b - a).days for a, b in pairwise(upkeep)) <= 2 * every


@pytest.fixture(scope="module")
def both() -> WhatIf:
    wish = Wish(sessions_a_day=2, weights={"down": 0}, days_off=(date(2026, 5, 14),))
    return compare_plans(GIVEN, wish, knowing(), catalogue=CATALOGUE, now=NOW)


def test_what_if_gives_both_plans_side_by_side(both: WhatIf) -> None:
    assert [now.behaviour for now, _ in both.pairs] == [one.behaviour for one in GIVEN.aims]
    assert {now.behaviour: then for now, then in both.pairs}["down"] is None
    assert all(day.n_room <= 2 for day in both.then.days)
    assert sessions_of_day(both.then, date(2026, 5, 14)) == ()
    assert (both.now.days, both.now.goals) == (make().days, make().goals)


def test_what_if_without_a_plan_carries_the_clash() -> None:
    wish = Wish(days_off=tuple(TODAY + timedelta(days=n) for n in range(11)))
    both = compare_plans(GIVEN, wish, knowing(), catalogue=CATALOGUE, now=NOW)
    assert "No day" in str(both.then.what)
    assert [then for _, then in both.pairs] == [None] * 4


def test_what_if_refuses_every_figure_that_cannot_be() -> None:
    wish = Wish(handover_on=date(2026, 5, 1), sessions_a_day=40, weights={"sit": 9, "down": 1, "bark": 2})
    with pytest.raises(InvalidInput) as caught:
        compare_plans(GIVEN, wish, knowing(), catalogue=CATALOGUE, now=NOW)
    assert [problem.where for problem in caught.value.problems] == [
        "sessions_a_day",
        "handover_on",
        "weights",
        "weights",
    ]


def test_naive_instant_is_refused() -> None:
    with pytest.raises(InvalidInput):
        make_plan(GIVEN, knowing(), catalogue=CATALOGUE, now=datetime(2026, 5, 12, 8, 30))  # noqa: DTZ001
