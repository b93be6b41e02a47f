"""The next outing: the earliest of the rules and of the model's time at the chosen risk."""

from datetime import UTC, date, datetime, timedelta

import pytest

from pupilage.core.care.confinement import max_confinement_hours
from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.errors import InvalidInput
from toilet_logs import LISBON, NOTHING, NOW, POO, WEE, ago, at, day_of_outings, upcoming

OUT, IN = CareKind.OUTING, CareKind.INDOORS
CRATE, NAP = CareKind.CRATE, CareKind.NAP


def minutes_ahead(*log: CareEvent, **more) -> float:
    return (upcoming(*log, **more).at - NOW) / timedelta(minutes=1)


def test_empty_log_sends_the_pup_out_now():
    found = upcoming()
    assert (found.at, str(found.reason)) == (NOW, "No outing logged yet: take the pup out now.")


def test_new_pup_goes_by_what_is_usual_at_its_age():
    found = upcoming(ago(OUT, 10, WEE))
    assert 25 < (found.at - NOW) / timedelta(minutes=1) < 50
    time = found.at.astimezone(LISBON).strftime("%H:%M")
    said = "By what is usual at its age (outings so far: 1), the chance of an accident reaches 5\N{NO-BREAK SPACE}% at"
    assert str(found.reason) == f"{said} {time}."


def test_pup_with_a_record_goes_by_its_record():
    log = [event for day in range(1, 12) for event in day_of_outings(day, every_min=60.0, n=12)]
    found = upcoming(*log, ago(OUT, 10, WEE))
    assert "By what 133 outings have shown" in str(found.reason)
    assert found.at > upcoming(ago(OUT, 10, WEE)).at


def test_smaller_risk_is_sooner():
    log = [ago(OUT, 10, WEE)]
    times = [minutes_ahead(*log, risk=risk) for risk in (0.01, 0.05, 0.1, 0.2)]
    assert times == sorted(times)
    assert times[0] < times[-1]


def test_younger_pup_goes_out_sooner():
    log = [ago(OUT, 10, WEE)]
    assert minutes_ahead(*log, born_on=date(2031, 3, 9)) < minutes_ahead(*log, born_on=date(2031, 1, 19))


def test_triggers_come_before_the_model():
    assert minutes_ahead(ago(OUT, 10, WEE), ago(CareKind.MEAL, 1)) == pytest.approx(4.0)
    found = upcoming(ago(OUT, 10, WEE), ago(CareKind.PLAY, 2, CareDetail.END))
    assert "played" in str(found.reason)


def test_model_comes_before_the_retry_when_the_pup_is_near_its_limit():
    assert minutes_ahead(ago(OUT, 1, NOTHING)) == pytest.approx(14.0)  # nothing known: the rule
    full = [ago(OUT, 110, WEE), ago(OUT, 60, NOTHING), ago(OUT, 1, NOTHING)]
    assert minutes_ahead(*full) <= 14.0


def test_sleeping_pup_is_left_to_sleep_longer():
    log = [ago(OUT, 10, WEE)]
    asleep = minutes_ahead(*log, ago(NAP, 8, CareDetail.START))
    assert asleep > 1.5 * minutes_ahead(*log)
    assert asleep <= 60 * max_confinement_hours(10.0) - 10


def test_night_lasts_longer_than_a_nap():
    evening = datetime(2031, 5, 3, 22, 0, tzinfo=UTC)  # 23:00 in Lisbon
    log = [at(OUT, evening, WEE), at(CRATE, evening + timedelta(minutes=5), CareDetail.START)]
    night = upcoming(*log, now=evening + timedelta(minutes=10)).at - evening
    nap = upcoming(ago(OUT, 10, WEE), ago(CRATE, 5, CareDetail.START)).at - (NOW - timedelta(minutes=10))
    assert timedelta(hours=8) >= night > nap


def test_overdue_outing_stays_where_it_was():
    log = [ago(OUT, 200, WEE)]
    first, later = upcoming(*log), upcoming(*log, now=NOW + timedelta(minutes=7))
    assert first.at == later.at < NOW


def test_poo_alone_does_not_make_the_pup_wait_for_hours():
    assert minutes_ahead(ago(OUT, 10, POO)) < 60


def test_accident_indoors_counts_as_the_last_outing():
    log = [ago(OUT, 100, WEE), ago(IN, 10, WEE)]
    assert minutes_ahead(*log) > 0


def test_entry_taken_back_does_not_count():
    outing = ago(OUT, 20, WEE)
    back = CareEvent("back", CareKind.WITHDRAWN, outing.at, withdraws=outing.id)
    assert upcoming(outing, back).at == NOW


def test_entry_of_the_future_does_not_count():
    assert upcoming(at(OUT, NOW + timedelta(hours=1), WEE)).at == NOW


def test_night_on_which_the_clocks_change_has_its_true_length():
    # Lisbon, 30 March 2031: 01:00 becomes 02:00. The same evening three days before gives the same hours.
    def hours(evening: datetime) -> float:
        log = [at(OUT, evening, WEE), at(CRATE, evening + timedelta(minutes=5), CareDetail.START)]
        born = evening.date() - timedelta(weeks=10)
        return (upcoming(*log, now=evening + timedelta(minutes=9), born_on=born).at - evening) / timedelta(hours=1)

    change = datetime(2031, 3, 29, 23, 0, tzinfo=UTC)
    assert hours(change) == pytest.approx(hours(change - timedelta(days=3)), abs=0.02)


@pytest.mark.parametrize(("born_on", "weeks"), [(date(2031, 4, 13), 3), (date(2030, 3, 10), 60)])
def test_age_without_a_curve_goes_by_the_rules(born_on, weeks):
    found = upcoming(ago(OUT, 10, WEE), born_on=born_on)
    assert found.at == NOW - timedelta(minutes=10) + timedelta(hours=max_confinement_hours(float(weeks)))
    assert "Never more than" in str(found.reason)


@pytest.mark.parametrize("risk", [0.0, 1.0, -0.1, float("nan")])
def test_risk_that_is_none_is_refused(risk):
    with pytest.raises(InvalidInput, match="risk"):
        upcoming(ago(OUT, 10, WEE), risk=risk)


def test_birth_after_today_and_naive_instants_are_refused():
    with pytest.raises(InvalidInput, match="date of birth"):
        upcoming(born_on=date(2031, 6, 1))
    with pytest.raises(InvalidInput, match="now"):
        upcoming(now=NOW.replace(tzinfo=None))
