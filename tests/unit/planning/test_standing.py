"""Where each goal stands, and how the sessions that are left are shared."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.planning.standing import Frame, GoalAim, plan_sessions, stand
from pupilage.core.training.posterior.knowledge import Knowledge, know
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

NOW = datetime(2026, 5, 12, 18, 0, tzinfo=UTC)
FRAME = Frame(
    born_on=date(2026, 2, 25),
    arrival_on=date(2026, 5, 2),
    handover_on=date(2026, 5, 23),
    sessions_a_day=4,
    zone=ZoneInfo("Europe/Lisbon"),
)


SIT = [GoalAim("sit", load_bundled().behaviours["sit"].target, 3)]


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load_bundled()


def known(catalogue: Catalogue, trials: list[Trial]) -> Knowledge:
    return know(catalogue.behaviours, trials, zone=FRAME.zone)


def some_trials(
    behaviour: str,
    step: str,
    outcomes: str,
    *,
    kind: SessionKind = SessionKind.TRAINING,
    at: datetime = NOW - timedelta(hours=3),
) -> list[Trial]:
    words = {"m": Outcome.MET, "x": Outcome.MISSED, "v": Outcome.VOID}
    return [
        Trial(
            f"{behaviour}{kind}{at}{n}", f"session {at}", at + timedelta(seconds=8 * n), behaviour, step, words[o], kind
        )
        for n, o in enumerate(outcomes)
    ]


def test_goal_without_a_trial_stands_at_the_first_step_with_no_forecast(catalogue: Catalogue) -> None:
    sit = catalogue.behaviours["sit"]
    (standing,) = stand(
        [GoalAim("sit", sit.target, 3)], known(catalogue, []), catalogue=catalogue, frame=FRAME, now=NOW
    )
    assert standing.step == sit.steps[0]
    assert standing.forecast.p is None
    assert standing.baseline is None
    assert (standing.n_trials, standing.n_sessions, standing.last_trained_at) == (0, 0, None)
    assert not standing.at_target


def test_probes_are_the_baseline_and_no_training(catalogue: Catalogue) -> None:
    sit = catalogue.behaviours["sit"]
    probes = some_trials("sit", sit.steps[0].key, "mxmv", kind=SessionKind.PROBE)
    (standing,) = stand(
        [GoalAim("sit", sit.target, 3)], known(catalogue, probes), catalogue=catalogue, frame=FRAME, now=NOW
    )
    assert standing.baseline is not None
    assert (standing.baseline.n_met, standing.baseline.n_missed) == (2, 1)
    assert standing.n_sessions == 0
    assert standing.n_sessions_today == 1
    assert standing.decision.reading.n == 0


def test_training_moves_the_standing_up_after_enough_met_trials(catalogue: Catalogue) -> None:
    sit = catalogue.behaviours["sit"]
    trials = some_trials("sit", sit.steps[0].key, "m" * 10)
    (standing,) = stand(
        [GoalAim("sit", sit.target, 3)], known(catalogue, trials), catalogue=catalogue, frame=FRAME, now=NOW
    )
    assert standing.step == sit.steps[1]
    assert standing.n_trials == 10


def test_prerequisite_that_nobody_has_met_is_named(catalogue: Catalogue) -> None:
    behaviour = next(b for b in catalogue.behaviours.values() if b.prerequisites)
    needed = behaviour.prerequisites[0]
    aim = GoalAim(behaviour.key, behaviour.target, 3)
    (standing,) = stand([aim], known(catalogue, []), catalogue=catalogue, frame=FRAME, now=NOW)
    assert needed in standing.lacking
    tried = some_trials(needed, catalogue.behaviours[needed].steps[0].key, "m")
    (standing,) = stand([aim], known(catalogue, tried), catalogue=catalogue, frame=FRAME, now=NOW)
    assert needed not in standing.lacking


def test_goal_whose_step_has_left_the_catalogue_is_left_out(catalogue: Catalogue) -> None:
    aims = [GoalAim("sit", "no-such-step", 3), GoalAim("no-such-behaviour", "a", 3)]
    assert stand(aims, known(catalogue, []), catalogue=catalogue, frame=FRAME, now=NOW) == []


def test_pup_that_is_too_young_is_not_old_enough(catalogue: Catalogue) -> None:
    behaviour = max(catalogue.behaviours.values(), key=lambda b: b.min_age_weeks)
    born = date(2026, 5, 12) - timedelta(weeks=behaviour.min_age_weeks) + timedelta(days=1)
    aim = GoalAim(behaviour.key, behaviour.target, 3)
    for days, expected in ((0, False), (1, True)):
        frame = replace(FRAME, born_on=born - timedelta(days=days))
        (standing,) = stand([aim], known(catalogue, []), catalogue=catalogue, frame=frame, now=NOW)
        assert standing.old_enough is expected


def test_plan_never_exceeds_what_fits_or_two_a_day(catalogue: Catalogue) -> None:
    aims = [GoalAim(b.key, b.target, b.weight) for b in list(catalogue.behaviours.values())[:9]]
    plan = plan_sessions(aims, known(catalogue, []), catalogue=catalogue, frame=FRAME, now=NOW)
    days = FRAME.days_left(NOW)
    assert days == 11
    assert sum(share.n_sessions for share in plan.values()) <= days * FRAME.sessions_a_day
    assert all(share.n_sessions <= 2 * days for share in plan.values())


def test_goal_out_of_reach_leaves_its_sessions_to_one_within(catalogue: Catalogue) -> None:
    down, recall = catalogue.behaviours["down"], catalogue.behaviours["recall"]
    bad = some_trials("recall", recall.steps[0].key, "xxxxx" * 4, at=NOW - timedelta(days=1))
    aims = [GoalAim("recall", recall.steps[-1].key, 3), GoalAim("down", down.steps[3].key, 3)]
    frame = replace(FRAME, sessions_a_day=1)
    plan = plan_sessions(aims, known(catalogue, bad), catalogue=catalogue, frame=frame, now=NOW)
    assert plan["recall"].n_sessions < plan["down"].n_sessions
    assert plan["down"].p_with > plan["down"].p_without


def test_plan_of_a_day_stands_for_the_day(catalogue: Catalogue) -> None:
    sit = catalogue.behaviours["sit"]
    before = some_trials("sit", sit.steps[0].key, "mmmmx", at=NOW - timedelta(days=1))
    today = some_trials("sit", sit.steps[1].key, "xxxxx", at=NOW - timedelta(hours=2))
    plans = [
        plan_sessions(SIT, known(catalogue, trials), catalogue=catalogue, frame=FRAME, now=NOW)
        for trials in (before, before + today)
    ]
    assert plans[0] == plans[1]
    later = plan_sessions(
        SIT, known(catalogue, before + today), catalogue=catalogue, frame=FRAME, now=NOW + timedelta(days=1)
    )
    assert later != plans[0]


def test_pup_that_is_too_young_gets_its_sessions_later(catalogue: Catalogue) -> None:
    behaviour = max(catalogue.behaviours.values(), key=lambda b: b.min_age_weeks)
    young = replace(FRAME, born_on=NOW.date() - timedelta(weeks=behaviour.min_age_weeks - 1))
    aim = GoalAim(behaviour.key, behaviour.steps[1].key, 3)
    (share,) = plan_sessions([aim], known(catalogue, []), catalogue=catalogue, frame=young, now=NOW).values()
    assert share.n_sessions <= 2 * (young.days_left(NOW) - 7)


def test_nothing_is_left_on_the_day_of_the_handover(catalogue: Catalogue) -> None:
    sit = catalogue.behaviours["sit"]
    late = datetime(2026, 5, 23, 8, 0, tzinfo=UTC)
    (standing,) = stand(
        [GoalAim("sit", sit.target, 3)], known(catalogue, []), catalogue=catalogue, frame=FRAME, now=late
    )
    assert standing.sessions_left == 0


@pytest.mark.parametrize(
    ("handover", "at", "days"),
    [
        # Europe/Lisbon changes its clocks on 29 March and 25 October 2026 (IANA time zone database)
        (date(2026, 4, 4), datetime(2026, 3, 28, 23, 30, tzinfo=UTC), 7),
        (date(2026, 4, 4), datetime(2026, 3, 29, 23, 30, tzinfo=UTC), 5),
        (date(2026, 10, 31), datetime(2026, 10, 24, 22, 30, tzinfo=UTC), 7),
        (date(2026, 10, 31), datetime(2026, 10, 24, 23, 30, tzinfo=UTC), 6),
        (date(2026, 10, 31), datetime(2026, 10, 25, 23, 30, tzinfo=UTC), 6),
    ],
)
def test_days_left_count_local_days_across_a_change_of_the_clocks(handover: date, at: datetime, days: int) -> None:
    assert replace(FRAME, handover_on=handover).days_left(at) == days


def test_day_number_is_one_on_the_day_of_arrival() -> None:
    assert FRAME.day_number(datetime(2026, 5, 2, 7, tzinfo=UTC)) == 1
    assert FRAME.day_number(NOW) == 11
    assert FRAME.n_days == 21
