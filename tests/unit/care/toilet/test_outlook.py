"""The chance of an accident as time goes on."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.care.confinement import max_confinement_hours
from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.care.toilet.curve import Doing
from pupilage.core.care.toilet.limits import OutingLimits
from pupilage.core.care.toilet.outlook import Ahead, outing_limits, p_fresh, safe_minutes
from pupilage.core.errors import InvalidInput
from toilet_logs import LISBON, NOTHING, NOW, WEE, ago, day_of_outings, read

OUT = CareKind.OUTING


@given(st.floats(1.0, 600.0), st.floats(1.0, 100.0))
def test_chance_never_falls_as_time_goes_on(minutes, more):
    ahead = Ahead(read(ago(OUT, 30, WEE), ago(CareKind.MEAL, 5)))
    assert 0.0 <= ahead.p_accident(minutes) <= ahead.p_accident(minutes + more) <= 1.0


def test_chance_is_reached_at_the_minute_that_is_told():
    ahead = Ahead(read(ago(OUT, 60, WEE), ago(OUT, 20, NOTHING), ago(CareKind.PLAY, 5)))
    for risk in (0.02, 0.05, 0.2):
        assert ahead.p_accident(ahead.minutes_at(risk)) == pytest.approx(risk, abs=1e-5)


def test_risk_counts_from_the_last_outing():
    # With nothing known but an empty trip just now, no risk has been taken since.
    ahead = Ahead(read(ago(OUT, 60, WEE), ago(OUT, 0, NOTHING)))
    assert ahead.p_accident(0.0) == pytest.approx(0.0, abs=1e-9)


def test_empty_trip_makes_an_accident_in_the_next_minutes_less_likely():
    told = Ahead(read(ago(OUT, 60, WEE), ago(OUT, 0, NOTHING)))
    untold = Ahead(read(ago(OUT, 60, WEE)))
    step = untold.p_accident(60.0 + 15.0) - untold.p_accident(60.0)
    assert told.p_accident(15.0) < step


def test_meal_brings_the_outing_forward():
    plain, fed = read(ago(OUT, 40, WEE)), read(ago(OUT, 40, WEE), ago(CareKind.MEAL, 39))
    assert Ahead(fed).p_accident(34.0) > Ahead(plain).p_accident(35.0)
    assert Ahead(fed).minutes_at(0.05) < Ahead(plain).minutes_at(0.05)


def test_nothing_known_has_no_time():
    assert Ahead(read()).minutes_at(0.05) is None


def test_safe_times_grow_from_awake_to_resting_to_night():
    record = read()
    awake, resting, night = (safe_minutes(record, doing, 0.05) for doing in Doing)
    assert 40 < awake < 60 < resting < night
    assert p_fresh(record, Doing.AWAKE, awake) == pytest.approx(0.05, abs=1e-6)


def test_limits_are_whole_steps_within_the_ceilings():
    dry = [event for day in range(1, 20) for event in day_of_outings(day, every_min=110.0, n=7)]
    found = outing_limits(read(*dry), 0.2)
    ceiling = 60 * max_confinement_hours(10.0)
    assert isinstance(found, OutingLimits)
    assert all(minutes % 5 == 0 for minutes in (found.awake_min, found.resting_min, found.night_min))
    assert max(found.awake_min, found.resting_min) <= ceiling
    assert found.night_min <= 480


def test_limits_never_fall_below_five_minutes():
    wet = [ago(CareKind.INDOORS, 4 * n, WEE) for n in range(1, 200)]
    assert outing_limits(read(ago(OUT, 999, WEE), *wet), 0.01).awake_min >= 5


@pytest.mark.parametrize("risk", [0.0, 1.0, float("nan"), 5.0])
def test_risk_that_is_none_is_refused(risk):
    record = read(ago(OUT, 10, WEE))
    for asked in (lambda: Ahead(record).minutes_at(risk), lambda: outing_limits(record, risk)):
        with pytest.raises(InvalidInput, match="give one between 0 and 1"):
            asked()


def test_rest_that_goes_on_into_the_night_becomes_night():
    evening = NOW.replace(hour=20)  # 21:00 in Lisbon
    log = [ago(OUT, 0, WEE), ago(CareKind.CRATE, 0, CareDetail.START)]
    shifted = [type(one)(one.id, one.kind, evening, one.detail) for one in log]
    ahead = Ahead(read(*shifted, now=evening))
    assert {stage.doing for stage in ahead.stages} == {Doing.RESTING, Doing.NIGHT}
    assert evening.astimezone(LISBON).date() == date(2031, 5, 4)
    assert ahead.minutes_at(0.05) > 60
