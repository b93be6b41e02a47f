"""The eight weeks: dates, outings that grow slowly, absences below what is calm, pay that thins gently, upkeep."""

import itertools
from datetime import UTC, date, datetime, timedelta

import pytest

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.handover.weeks import (
    MOST_GROWTH,
    grow_absences,
    grow_ratio,
    grow_slowly,
    plan_upkeep,
    weeks_from,
)
from pupilage.core.incidents.alone import Absence, Sign
from pupilage.core.training.posterior.retention import LEAST_KEPT, cold_reading
from pupilage.core.training.posterior.state import fold_dog
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

HANDOVER = date(2026, 5, 23)
STARTS = [datetime(2026, 5, 23, tzinfo=UTC) + timedelta(weeks=i) for i in range(8)]


def test_eight_weeks_follow_each_other_from_the_hand_over_day():
    spans = weeks_from(HANDOVER)
    assert [one.number for one in spans] == list(range(1, 9))
    assert spans[0].first == HANDOVER
    assert spans[-1].last == HANDOVER + timedelta(days=55)
    assert all(b.first - a.last == timedelta(days=1) for a, b in itertools.pairwise(spans))


def test_outings_never_shrink_and_grow_by_a_quarter_at_most():
    grown = grow_slowly([60, 55, 200, 200, 200])
    assert grown == (60, 60, 75, 90, 110)
    assert all(a <= b <= a * MOST_GROWTH for a, b in itertools.pairwise(grown))


def alone(told, ceiling=3600.0):
    return grow_absences(told, starts=STARTS, age_weeks_at=lambda at: 12.0, ceiling_s=[ceiling] * 8)


def test_first_week_of_a_pup_never_left_begins_at_the_door_and_later_ones_do_not_shrink():
    weeks = alone([])
    assert weeks[0] is not None
    assert weeks[0] <= 60
    assert list(weeks) == sorted(weeks)


def test_nobody_is_away_for_longer_than_the_pup_can_wait_for_the_toilet():
    calm = [Absence(STARTS[0] - timedelta(days=9 - i), 3000.0) for i in range(9)]
    assert max(alone(calm, ceiling=600.0)) <= 600.0


def test_after_panic_no_week_has_an_absence():
    assert alone([Absence(STARTS[0] - timedelta(days=1), 30.0, Sign.PANIC, panic=True)]) == (None,) * 8


@pytest.mark.parametrize(
    ("level", "always", "sure", "ratios"),
    [
        (0, False, True, [1.0, 1.0, 1.5, 1.5, 2.0, 2.0, 3.0, 3.0]),
        (3, False, True, [3.0] * 8),
        (5, False, True, [3.0] * 8),
        (0, True, True, [1.0] * 8),
        (2, False, False, [1.0] * 8),
    ],
)
def test_pay_thins_a_level_every_two_weeks_up_to_one_in_three(level, always, sure, ratios):
    assert [grow_ratio(level, week, always_paid=always, sure=sure) for week in range(1, 9)] == ratios


def learned_sit(*, bad_last_day=False):
    behaviour = load_bundled().behaviours["sit"]
    trials = [
        Trial(f"{d}-{i}", f"{d}", STARTS[0] - timedelta(days=10 - d, seconds=-9 * i), "sit", behaviour.steps[2].key,
              Outcome.MISSED if bad_last_day and d == 9 else Outcome.MET, SessionKind.TRAINING)
        for d in range(10) for i in range(8)
    ]  # fmt: skip
    return behaviour, fold_dog({"sit": behaviour}, trials)


def test_upkeep_is_none_for_a_behaviour_without_a_try():
    behaviour, _ = learned_sit()
    assert plan_upkeep(fold_dog({"sit": behaviour}, []), behaviour, 2, now=STARTS[0], from_day=HANDOVER) is None


def test_upkeep_comes_no_later_than_the_forecast_and_the_catalogue_allow():
    behaviour, state = learned_sit()
    found = plan_upkeep(state, behaviour, 2, now=STARTS[0], from_day=HANDOVER)
    assert 1 <= found.every_days <= behaviour.maintain_every_days
    assert found.due_on >= HANDOVER
    fresh = STARTS[0] - timedelta(days=(STARTS[0].date() - state.last_day["sit"]).days)
    kept = cold_reading(state, "sit", 2, now=fresh + timedelta(days=found.every_days)).mean
    assert kept >= LEAST_KEPT or found.every_days == 1
    chances = [p for _, p in found.p_then]
    assert chances == sorted(chances, reverse=True)


def test_bad_last_day_that_is_the_day_of_the_hand_over_makes_no_chance_rise_without_practice():
    """What made that day a bad one ends with the night; a pack once gave 8 of 10, and 9 of 10 a week later."""
    behaviour, state = learned_sit(bad_last_day=True)
    found = plan_upkeep(state, behaviour, 2, now=STARTS[0], from_day=state.last_day["sit"])
    chances = [p for _, p in found.p_then]
    assert chances == sorted(chances, reverse=True)
