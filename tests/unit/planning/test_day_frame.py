"""A day that cannot be planned is refused with a sentence for everything that is wrong."""

import math
from dataclasses import replace
from datetime import datetime, time

import pytest

from day_frames import appointment, at, day_frame, session
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.errors import InvalidInput
from pupilage.core.planning.day.frame import DayExposure, DayMeal, awake_minutes, grid_down, grid_up
from pupilage.core.planning.day.planning import first_plan


def refusal(**changes):
    with pytest.raises(InvalidInput) as refused:
        first_plan(day_frame(**changes))
    return refused.value


@pytest.mark.parametrize("weeks", [3.0, 60.0, math.nan, -1.0])
def test_age_outside_puppyhood_is_refused(weeks):
    (problem,) = refusal(age_weeks=weeks).problems
    assert problem.where == "age_weeks"
    assert "6 to 52 weeks" in str(problem)


def test_waking_after_the_last_outing_is_refused():
    (problem,) = refusal(wake=time(23), last_outing=time(22)).problems
    assert "22:00" in str(problem)
    assert "no time awake" in str(problem)


@pytest.mark.parametrize("grams", [math.nan, math.inf, -1.0])
def test_grams_that_are_none_are_refused(grams):
    assert refusal(meals=(DayMeal(grams),)).problems[0].where == "meals"


def test_day_without_meals_is_refused():
    assert "a pup eats 3 to 4 times a day" in str(refusal(meals=()))


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"sessions": (session("sit"),) * 21}, "sessions"),
        ({"sessions": (session("sit", minutes=0),)}, "sessions"),
        ({"exposures": (DayExposure("rain", 500),)}, "exposures"),
        ({"exposures": (DayExposure("rain"),) * 5}, "exposures"),
        ({"play_min": -10}, "play_min"),
        ({"chew_min": 1000}, "chew_min"),
        ({"resident_min": -1}, "resident_min"),
        ({"outing_min": 0}, "outing_min"),
        ({"meal_min": 90}, "meal_min"),
        ({"weights": {"naps": 1.0}}, "weights"),
        ({"weights": {"meal-times": math.nan}}, "weights"),
    ],
)
def test_other_values_that_cannot_be_are_refused(changes, where):
    assert [problem.where for problem in refusal(**changes).problems] == [where]


def test_appointment_that_ends_before_it_begins_or_has_no_zone_is_refused():
    backwards = replace(appointment(at(9), 30), end=at(8))
    naive = appointment(datetime(2026, 5, 4, 9), 30)  # noqa: DTZ001
    assert len(refusal(appointments=(backwards, naive)).problems) == 2


def test_everything_that_is_wrong_is_said_at_once():
    assert len(refusal(age_weeks=3.0, meals=(), outing_min=0).problems) == 3


def test_limits_that_are_no_numbers_are_refused_before_the_day():
    with pytest.raises(InvalidInput):
        OutingLimits(math.nan, 150, 240)  # type: ignore[arg-type]


def test_times_are_rounded_to_the_grid():
    assert grid_down(at(9, 33)) == at(9, 30)
    assert grid_up(at(9, 33)) == at(9, 35)
    assert grid_up(at(9, 35)) == at(9, 35)


def test_awake_blocks_grow_with_age_and_keep_the_bands_of_the_trade():
    """From memory: 45-60 min at 8-10 weeks, 60-90 at 12-16."""
    assert awake_minutes(9.0) == (45, 60)
    assert awake_minutes(14.0) == (60, 90)
    bands = [awake_minutes(weeks) for weeks in range(6, 53)]
    assert bands == sorted(bands)


def test_two_appointments_at_once_are_named_with_the_time():
    clash = refusal(appointments=(appointment(at(9), 60), appointment(at(9, 30), 60, "call")))
    assert "“dentist” and “call” overlap at 09:30" in str(clash)


def test_appointments_that_only_touch_do_not_clash():
    assert first_plan(day_frame(appointments=(appointment(at(9), 33), appointment(at(9, 33), 20, "call"))))


def test_appointment_longer_than_the_pup_can_wait_says_when_somebody_must_take_it_out():
    clash = refusal(appointments=(appointment(at(9), 240),))
    assert "“dentist” lasts 240 minutes" in str(clash)
    assert "somebody must take it out by 11:25" in str(clash)


def test_appointment_over_the_whole_day_names_waking_bedtime_and_the_outing_between():
    clash = str(refusal(appointments=(appointment(at(6), 17 * 60),)))
    assert "lies on waking at 06:30" in clash
    assert "lies on the last outing at 22:30" in clash
    assert "somebody must take it out" in clash


def test_appointment_to_which_the_pup_comes_along_is_no_longer_than_it_can_wait():
    clash = str(refusal(appointments=(appointment(at(9), 90, comes_along=True),)))
    assert "taken out by 09:40" in clash


def test_no_time_for_an_outing_between_two_appointments_is_said():
    appointments = (appointment(at(9), 30), appointment(at(9, 30), 20, "vet", comes_along=True))
    assert "leave no 5 minutes between for an outing" in str(refusal(appointments=appointments))


def test_limits_too_short_for_a_meal_are_said():
    assert "an outing and a meal alone take 15" in str(refusal(limits=OutingLimits(10, 150, 240)))


def test_limits_too_short_for_a_nap_are_said():
    assert "the shortest nap take 35" in str(refusal(limits=OutingLimits(45, 30, 240)))


def test_day_too_short_for_its_meals_is_said():
    assert "there is no room for 4 meals" in str(refusal(last_outing=time(8)))
