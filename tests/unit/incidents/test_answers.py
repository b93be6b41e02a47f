from datetime import UTC, date, datetime, timedelta

import pytest

from pupilage.core.incidents.answers import answer
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.since import Since
from pupilage.core.incidents.stretches import Stretch

START = datetime(2026, 5, 4, 6, tzinfo=UTC)


def hours_awake(n_days):
    return [Stretch(START + timedelta(days=d), START + timedelta(days=d, hours=14)) for d in range(n_days)]


def unwatched(n_days):
    return {Before.UNWATCHED: [Stretch(s.start, s.start + timedelta(hours=2)) for s in hours_awake(n_days)]}


def waking(n_days):
    return {Since.WAKING: [s.start for s in hours_awake(n_days)]}


def incident(day, hour, **more):
    return Incident(f"{day}-{hour}", "counter-stealing", START + timedelta(days=day, hours=hour), **more)


def ask(incidents, n_days=10):
    return answer(incidents, free=hours_awake(n_days), present=unwatched(n_days), moments=waking(n_days), zone=UTC)


def test_nothing_so_far_has_an_upper_limit():
    found = ask([])
    assert (found.n, found.rate.value) == (0, 0.0)
    assert found.rate.high == pytest.approx(3.6889 / 140, abs=1e-4)  # Garwood, k = 0
    assert str(found.says[0]) == "Not once so far."


def test_three_incidents_cannot_tell_and_say_what_to_write_down():
    found = ask([incident(d, 1) for d in range(3)])
    assert "3 incidents cannot tell" in str(found.says_cause)
    assert not found.times.is_drawn
    assert "3 incidents cannot tell" in str(found.times.says)
    assert any("looked and left it" in str(s) for s in found.next)


def test_what_they_have_in_common_is_named_with_its_limits():
    found = ask([incident(d, 1, gained=Gain.THING) for d in range(8)] + [incident(8, 9), incident(9, 5)])
    assert found.suspects[0].key == Before.UNWATCHED
    assert found.suspects[0].is_called
    assert "8 of 10 came with the first line" in str(found.says_cause)
    assert any("thing" in str(s) for s in found.says)


def test_a_change_that_nobody_noted_is_named_with_its_day():
    found = ask([incident(d, h) for d in range(8) for h in (2, 5, 9)], n_days=20)
    assert found.changed_after == date(2026, 5, 11)
    assert "Rarer since about Mon 11 May" in str(found.says_change)


def test_incidents_outside_the_log_are_counted_and_in_no_rate():
    found = ask([incident(0, 1), incident(30, 1)])
    assert (found.n, found.n_outside) == (2, 1)
    assert found.rate.value == pytest.approx(1 / 140)


def test_parts_of_the_day_hold_all_incidents_between_six_and_ten():
    found = ask([incident(0, 1), incident(1, 13)])
    assert [part.n for part in found.times.slots] == [1, 0, 0, 1]
    assert sum(part.hours for part in found.times.slots) == pytest.approx(140)


def test_without_a_log_there_is_no_rate():
    found = answer([incident(0, 1)], free=[], present={}, moments={}, zone=UTC)
    assert (found.rate, found.n_outside, found.change) == (None, 1, None)


def test_part_of_the_day_that_stands_out_is_named_with_its_limits():
    found = ask([incident(d, 13) for d in range(8)] + [incident(8, 2), incident(9, 5)])
    assert (found.times.standout.start, found.times.standout.end) == (18, 22)
    assert "between 18 and 22 o'clock" in str(found.times.says)


def test_evenly_spread_incidents_make_no_part_stand_out():
    found = ask([incident(d, h) for d in range(3) for h in (2, 6, 10, 13)])
    assert found.times.standout is None
    assert found.times.is_drawn
    assert str(found.times.says).startswith("No part of the day stands out:")
    assert "which may be chance" in str(found.times.says)


def test_days_hold_all_incidents_and_all_hours():
    found = ask([incident(d, 1) for d in range(3)])
    assert [day.n for day in found.days] == [1, 1, 1] + 7 * [0]
    assert sum(day.hours for day in found.days) == pytest.approx(found.hours)


def test_bursts_are_weighed_since_the_change_alone():
    found = ask([incident(d, h) for d in range(8) for h in (2, 5, 9)], n_days=20)
    assert found.changed_after is not None
    assert found.bursts is None  # nothing happened since
