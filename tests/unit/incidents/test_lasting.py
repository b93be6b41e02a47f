from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.lasting import COUNTS_FOR, TOGETHER_WITHIN, read_lasting
from pupilage.core.incidents.stretches import Stretch, hours_of, union

START = datetime(2026, 5, 12, 7, tzinfo=UTC)
REACH = CareKind.IN_REACH


def at(minute):
    return START + timedelta(minutes=minute)


def read(*taps, kind=REACH, zone=UTC):
    events = [CareEvent(str(i), kind, at(minute), CareDetail(detail)) for i, (minute, detail) in enumerate(taps)]
    return read_lasting(events, zone)


def said(found):
    return [str(one.says) for one in found.odd]


def test_what_was_begun_and_ended_counts_as_it_is():
    found = read((0, "start"), (30, "end"), (60, "start"), (75, "end"))
    assert found.stretches[REACH] == (Stretch(at(0), at(30)), Stretch(at(60), at(75)))
    assert not found.odd
    assert not found.running(at(80))


def test_begun_twice_counts_once_from_the_first_and_says_so():
    found = read((0, "start"), (20, "start"), (30, "end"))
    assert found.stretches[REACH] == (Stretch(at(0), at(30)),)
    assert said(found) == ["Begun at 07:00 and again at 07:20: counted once, from 07:00."]


def test_ended_twice_ends_at_the_first_and_says_what_to_write():
    found = read((0, "start"), (30, "end"), (40, "end"))
    assert found.stretches[REACH] == (Stretch(at(0), at(30)),)
    assert said(found) == [
        "Ended at 07:30 and again at 07:40: the first end counts. If it had begun again, write down when."
    ]


def test_an_end_that_nothing_began_counts_no_time_and_says_so():
    found = read((40, "end"))
    assert found.stretches[REACH] == ()
    assert "no time is counted" in said(found)[0]


def test_forgotten_end_is_asked_for_and_then_counts_no_more():
    (run,) = read((0, "start")).running(at(90))
    assert not run.is_asked(at(90))
    assert run.is_asked(at(120))
    assert not run.is_capped(at(179))
    assert run.is_capped(at(180))
    assert read((0, "start")).stretches[REACH] == (Stretch(at(0), at(180)),)


def test_still_so_keeps_it_running_from_where_it_began():
    found = read((0, "start"), (170, "start"))
    (run,) = found.running(at(200))
    assert (run.since, run.is_asked(at(200))) == (at(0), False)
    assert found.stretches[REACH] == (Stretch(at(0), at(170) + COUNTS_FOR),)
    assert not found.odd


def test_an_end_that_a_person_tapped_late_is_believed():
    assert read((0, "start"), (400, "end")).stretches[REACH] == (Stretch(at(0), at(400)),)


def test_taps_of_two_days_do_not_belong_together():
    found = read((0, "start"), (24 * 60, "start"), (24 * 60 + 30, "end"))
    assert found.stretches[REACH] == (Stretch(at(0), at(180)), Stretch(at(1440), at(1470)))
    assert said(found) == ["Begun at 07:00 and never ended: counted until 10:00. Write down its end if you know it."]
    assert not read((0, "start")).running(at(0) + TOGETHER_WITHIN)


def test_kinds_do_not_end_each_other():
    events = [
        CareEvent("a", CareKind.VISITOR, at(0), CareDetail.START),
        CareEvent("b", CareKind.RESIDENT, at(10), CareDetail.END),
        CareEvent("c", CareKind.VISITOR, at(20), CareDetail.END),
    ]
    assert read_lasting(events, UTC).stretches[CareKind.VISITOR] == (Stretch(at(0), at(20)),)


def test_times_are_told_on_the_clock_of_the_house():
    assert "08:00" in said(read((0, "end"), zone=ZoneInfo("Europe/Lisbon")))[0]


def test_a_time_without_a_zone_is_refused():
    event = CareEvent("a", REACH, datetime(2026, 5, 12, 7), CareDetail.START)  # noqa: DTZ001  what is refused
    with pytest.raises(InvalidInput):
        read_lasting([event], UTC)


@given(st.lists(st.tuples(st.integers(0, 3000), st.sampled_from(["start", "end"])), max_size=20))
def test_no_minute_counts_twice_and_no_word_counts_longer_than_it_holds(taps):
    taps = sorted(taps)
    stretches = read(*taps).stretches[REACH]
    assert hours_of(stretches) == pytest.approx(sum(s.length / timedelta(hours=1) for s in stretches))
    assert all(s.length <= TOGETHER_WITHIN * len(taps) for s in union(stretches))
    assert all(s.start in {at(minute) for minute, detail in taps if detail == "start"} for s in stretches)


def test_an_end_within_twelve_hours_is_believed_and_one_after_them_is_not():
    assert read((0, "start"), (719, "end")).stretches[REACH] == (Stretch(at(0), at(719)),)
    late = read((0, "start"), (720, "end"))
    assert late.stretches[REACH] == (Stretch(at(0), at(180)),)
    assert "never ended: counted until 10:00" in said(late)[0]


def test_it_runs_from_its_tap_on_for_twelve_hours():
    found = read((0, "start"))
    assert [bool(found.running(at(minute))) for minute in (-1, 0, 719, 720)] == [False, True, True, False]


def test_a_second_start_answers_the_question_from_two_hours_on():
    assert read((0, "start"), (119.5, "start"), (150, "end")).odd
    assert not read((0, "start"), (120, "start"), (150, "end")).odd
    (run,) = read((0, "start")).running(at(119.5))
    assert not run.is_asked(at(119.5))


def test_a_second_end_belongs_to_the_first_for_twelve_hours():
    assert "the first end counts" in said(read((0, "start"), (30, "end"), (749, "end")))[0]
    assert "no tap says when it began" in said(read((0, "start"), (30, "end"), (750, "end")))[0]
