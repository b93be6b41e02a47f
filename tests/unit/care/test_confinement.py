"""When the pup goes out next."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from pupilage.core.care.confinement import (
    MAX_CONFINEMENT_HOURS,
    Trigger,
    awake_interval,
    due_outing,
    max_confinement_hours,
    next_outing,
)
from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.errors import InvalidInput

NOW = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)
LISBON = ZoneInfo("Europe/Lisbon")
BORN = date(2031, 2, 23)  # ten weeks before NOW


def minutes(n: float) -> timedelta:
    return timedelta(minutes=n)


def due(**more):
    plain = {"age_weeks": 9.0, "last_outing_at": NOW - minutes(20)}
    return due_outing(NOW, **{**plain, **more})


def event(kind: CareKind, ago_min: float, detail: CareDetail = CareDetail.PLAIN, **more: object) -> CareEvent:
    return CareEvent(f"{kind}-{ago_min}", kind, NOW - minutes(ago_min), detail, **more)


def logged(*events: CareEvent):
    return next_outing(events, born_on=BORN, zone=LISBON, now=NOW)


def test_empty_log_sends_the_pup_out_now():
    found = due(last_outing_at=None)
    assert found.at == NOW
    assert str(found.reason) == "No outing logged yet: take the pup out now."
    assert logged().at == NOW


def test_awake_pup_goes_out_at_the_interval_of_its_age():
    found = due()
    assert found.at == NOW + minutes(25)
    assert str(found.reason) == "Awake at 9 weeks: out every 45 minutes."


def test_overdue_outing_is_due_in_the_past():
    assert due(last_outing_at=NOW - minutes(70)).at == NOW - minutes(25)


@pytest.mark.parametrize(
    ("weeks", "wanted"), [(8, 45), (9.9, 45), (10, 60), (12, 90), (15.9, 90), (16, 120), (40, 120)]
)
def test_awake_interval_grows_with_age(weeks, wanted):
    assert awake_interval(weeks) == minutes(wanted)


@pytest.mark.parametrize("kind", list(Trigger))
def test_every_trigger_asks_for_an_outing_within_five_minutes(kind):
    found = due(triggers=[(kind, NOW - minutes(1))])
    assert found.at == NOW + minutes(4)
    assert "within 5 minutes" in str(found.reason)


def test_trigger_before_the_last_outing_is_done_with():
    assert due(triggers=[(Trigger.ATE, NOW - minutes(30))]).at == NOW + minutes(25)


def test_earliest_of_several_triggers_counts():
    found = due(triggers=[(Trigger.PLAYED, NOW), (Trigger.DRANK, NOW - minutes(3))])
    assert (found.at, "drunk" in str(found.reason)) == (NOW + minutes(2), True)


def test_resting_pup_sleeps_on_until_the_ceiling_of_its_age():
    found = due(age_weeks=12.0, resting_since=NOW - minutes(10))
    assert found.at == NOW - minutes(20) + timedelta(hours=max_confinement_hours(12.0))
    assert "3.8 h since the last outing" in str(found.reason)


def test_resting_pup_without_an_outing_counts_from_the_start_of_the_rest():
    found = due(last_outing_at=None, resting_since=NOW - minutes(10))
    assert found.at == NOW - minutes(10) + timedelta(hours=max_confinement_hours(9.0))


def test_empty_outing_is_tried_again_soon():
    assert due(last_outing_at=NOW - minutes(2), last_was_empty=True).at == NOW + minutes(13)


def test_ceiling_never_passes_eight_hours():
    assert max_confinement_hours(0.0) == 1.0
    assert max_confinement_hours(200.0) == MAX_CONFINEMENT_HOURS


@pytest.mark.parametrize("weeks", [-1.0, float("nan"), float("inf")])
def test_age_that_is_none_is_refused(weeks):
    for asked in (max_confinement_hours, awake_interval):
        with pytest.raises(InvalidInput, match="age_weeks"):
            asked(weeks)
    with pytest.raises(InvalidInput, match="age_weeks"):
        due(age_weeks=weeks, last_outing_at=None)


@pytest.mark.parametrize("field", ["last_outing_at", "resting_since"])
def test_naive_instants_are_refused(field):
    with pytest.raises(InvalidInput, match=field):
        due(**{field: NOW.replace(tzinfo=None)})
    with pytest.raises(InvalidInput, match="now"):
        due_outing(NOW.replace(tzinfo=None), age_weeks=9.0, last_outing_at=None)
    with pytest.raises(InvalidInput, match="triggers"):
        due(triggers=[(Trigger.ATE, NOW.replace(tzinfo=None))])


def test_log_with_one_outing_gives_the_interval_at_the_pup_s_age():
    found = logged(event(CareKind.OUTING, 20, CareDetail.WEE))
    assert (found.at, str(found.reason)) == (NOW + minutes(40), "Awake at 10 weeks: out every 60 minutes.")


@pytest.mark.parametrize(
    ("kind", "detail", "word"),
    [
        (CareKind.NAP, CareDetail.END, "woken"),
        (CareKind.CRATE, CareDetail.END, "left the crate"),
        (CareKind.MEAL, CareDetail.PLAIN, "eaten"),
        (CareKind.DRINK, CareDetail.PLAIN, "drunk"),
        (CareKind.PLAY, CareDetail.END, "played"),
        (CareKind.PLAY, CareDetail.PLAIN, "played"),
    ],
)
def test_log_s_triggers_are_read(kind, detail, word):
    found = logged(event(CareKind.OUTING, 20, CareDetail.WEE), event(kind, 2, detail))
    assert found.at == NOW + minutes(3)
    assert word in str(found.reason)


def test_play_that_has_only_begun_is_no_trigger():
    assert logged(event(CareKind.OUTING, 20, CareDetail.WEE), event(CareKind.PLAY, 2, CareDetail.START)).at == (
        NOW + minutes(40)
    )


def test_open_crate_time_is_rest_and_an_outing_ends_it():
    crate = event(CareKind.CRATE, 30, CareDetail.START)
    resting = logged(event(CareKind.OUTING, 40, CareDetail.WEE), crate)
    assert resting.at == NOW - minutes(40) + timedelta(hours=max_confinement_hours(10.0))
    assert logged(crate, event(CareKind.OUTING, 20, CareDetail.WEE)).at == NOW + minutes(40)


def test_nap_that_ended_is_no_rest():
    nap = [event(CareKind.NAP, 50, CareDetail.START), event(CareKind.NAP, 3, CareDetail.END)]
    assert "woken" in str(logged(event(CareKind.OUTING, 60, CareDetail.WEE), *nap).reason)


def test_nothing_done_at_the_last_outing_is_read_from_the_log():
    assert logged(event(CareKind.OUTING, 5, CareDetail.NOTHING)).at == NOW + minutes(10)


def test_accident_indoors_counts_as_the_last_outing():
    found = logged(event(CareKind.OUTING, 90, CareDetail.WEE), event(CareKind.INDOORS, 10, CareDetail.WEE))
    assert found.at == NOW + minutes(50)


def test_entry_taken_back_does_not_count():
    outing = event(CareKind.OUTING, 20, CareDetail.WEE)
    back = event(CareKind.WITHDRAWN, 19, withdraws=outing.id)
    assert logged(outing, back).at == NOW


def test_birth_after_today_is_refused():
    with pytest.raises(InvalidInput, match="date of birth"):
        next_outing([], born_on=date(2031, 6, 1), zone=LISBON, now=NOW)
