"""When the pup goes out by rule, whatever is known of it."""

from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.care.confinement import MAX_CONFINEMENT_HOURS, due_outings, max_confinement_hours, resting_since
from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.errors import InvalidInput

NOW = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)


def minutes(n: float) -> timedelta:
    return timedelta(minutes=n)


def event(kind: CareKind, ago_min: float, detail: CareDetail = CareDetail.PLAIN) -> CareEvent:
    return CareEvent(f"{kind}-{ago_min}", kind, NOW - minutes(ago_min), detail)


WEED = event(CareKind.OUTING, 20, CareDetail.WEE)


def due(*events: CareEvent):
    return min(due_outings(events, ceiling_hours=3.0), key=lambda outing: outing.at)


def test_empty_log_asks_for_nothing():
    assert due_outings([], ceiling_hours=3.0) == []


def test_ceiling_counts_from_the_last_outing():
    found = due(WEED)
    assert found.at == NOW - minutes(20) + timedelta(hours=3)
    assert str(found.reason) == "Never more than 3.0 h without an outing, asleep or awake."


def test_rest_without_an_outing_counts_from_its_start():
    assert due(event(CareKind.CRATE, 10, CareDetail.START)).at == NOW - minutes(10) + timedelta(hours=3)


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
def test_every_trigger_asks_for_an_outing_within_five_minutes(kind, detail, word):
    found = due(WEED, event(kind, 2, detail))
    assert found.at == NOW + minutes(3)
    assert word in str(found.reason)


def test_play_that_has_only_begun_is_no_trigger():
    assert len(due_outings([WEED, event(CareKind.PLAY, 2, CareDetail.START)], ceiling_hours=3.0)) == 1


def test_trigger_before_the_last_outing_is_done_with():
    assert len(due_outings([event(CareKind.MEAL, 30), WEED], ceiling_hours=3.0)) == 1


def test_earliest_of_several_triggers_counts():
    found = due(WEED, event(CareKind.DRINK, 3), event(CareKind.PLAY, 0))
    assert (found.at, "drunk" in str(found.reason)) == (NOW + minutes(2), True)


def test_outing_with_nothing_done_is_tried_again_soon():
    assert due(event(CareKind.OUTING, 2, CareDetail.NOTHING)).at == NOW + minutes(13)


def test_accident_indoors_counts_as_the_last_outing():
    found = due(WEED, event(CareKind.MEAL, 12), event(CareKind.INDOORS, 10, CareDetail.WEE))
    assert found.at == NOW - minutes(10) + timedelta(hours=3)


def test_open_crate_time_is_rest_and_an_outing_ends_it():
    crate = event(CareKind.CRATE, 30, CareDetail.START)
    assert resting_since([crate]) == crate.at
    assert resting_since([crate, WEED]) is None


def test_ceiling_never_passes_eight_hours():
    assert max_confinement_hours(0.0) == 1.0
    assert max_confinement_hours(200.0) == MAX_CONFINEMENT_HOURS


@pytest.mark.parametrize("weeks", [-1.0, float("nan"), float("inf")])
def test_age_that_is_none_is_refused(weeks):
    with pytest.raises(InvalidInput, match="age_weeks"):
        max_confinement_hours(weeks)
