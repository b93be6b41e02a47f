"""From rows to sessions and their events."""

from datetime import date, datetime, time, timedelta
from uuid import UUID, uuid4

import pytest

from pupilage.core.sheets.sessions import SessionWriter, SheetTrial, group_sessions, identify
from pupilage.core.training.criterion.judging import require_payload
from pupilage.core.training.record.evidence import Outcome, TrialSource
from pupilage.core.training.record.fold import SessionRecord, fold_session
from unit.sheets.test_rows import PERIOD, reading

PROGRAMME = UUID("7f0c7c3a-7a53-4a0e-9a0a-5b1de1d0c001")


def trials(*rows: str) -> list[SheetTrial]:
    found = reading(*rows)
    assert not found.bad
    return identify(found.rows, PROGRAMME, PERIOD)


def folded(*rows: str) -> list[SessionRecord]:
    writer = SessionWriter(PROGRAMME, uuid4(), PERIOD)
    records = []
    for session in group_sessions(trials(*rows)):
        events = writer.write(session)
        for event in events:
            require_payload(event.kind, event.payload)
        record = fold_session(events, TrialSource.IMPORTED)
        assert record is not None
        records.append(record)
    return records


SAME = "4.5.2026,9:00,sit,word,met"


def test_rows_that_say_the_same_are_told_apart_by_how_many_came_before() -> None:
    three = [trial.id for trial in trials(SAME, SAME, SAME)]
    assert len(set(three)) == 3
    assert [trial.id for trial in trials(SAME, SAME)] == three[:2]


def test_a_row_keeps_its_id_when_other_rows_come_before_it_and_it_is_written_otherwise() -> None:
    (alone,) = trials('4.5.2026,9:00,sit,word,met,"1,50"')
    others = trials("3.5.2026,9:00,sit,word,x", "2026-05-04,9:00:00,Sits on cue,3,Y,1.5")
    assert others[1].id == alone.id


@pytest.mark.parametrize(
    "other",
    [
        "4.5.2026,9:01,sit,word,met",
        "5.5.2026,9:00,sit,word,met",
        "4.5.2026,9:00,sit,quick,met",
        "4.5.2026,9:00,sit,word,x",
        "4.5.2026,9:00,sit,word,met,1",
        "4.5.2026,9:00,sit,word,met,,,,1",
        "4.5.2026,9:00,sit,word,met,,,,,chicken",
        "4.5.2026,9:00,sit,word,met,,,,,,probe",
        "4.5.2026,9:00,sit,word,met,,,,,,,B",
    ],
)
def test_a_row_that_says_anything_else_has_another_id(other: str) -> None:
    assert trials(other)[0].id != trials(SAME)[0].id


def test_another_programme_has_other_ids() -> None:
    rows = reading(SAME).rows
    assert identify(rows, PROGRAMME, PERIOD)[0].id != identify(rows, uuid4(), PERIOD)[0].id


def test_rows_of_one_minute_keep_their_order_and_differ_in_instant() -> None:
    found = trials(SAME, SAME.replace("met", "x"), SAME)
    assert [trial.row.outcome for trial in found] == [Outcome.MET, Outcome.MISSED, Outcome.MET]
    assert found[0].at < found[1].at < found[2].at
    assert found[2].at - found[0].at < timedelta(milliseconds=1)


def test_a_long_gap_parts_sessions_and_a_short_one_does_not() -> None:
    rows = [f"4.5.2026,{at},sit,word,met" for at in ("9:00", "9:30", "10:01")]
    assert [len(record.trials) for record in folded(*rows)] == [2, 1]


def test_the_sheets_own_word_makes_one_session_in_spite_of_a_gap() -> None:
    rows = [f"4.5.2026,{at},sit,word,met,,,,,,,A" for at in ("9:00", "11:00")]
    assert [len(record.trials) for record in folded(*rows)] == [2]


def test_another_behaviour_kind_day_or_word_is_another_session() -> None:
    records = folded(
        SAME,
        "4.5.2026,9:00,down,3,met",
        "4.5.2026,9:00,sit,word,met,,,,,,probe",
        "5.5.2026,9:00,sit,word,met",
        "4.5.2026,9:00,sit,word,met,,,,,,,A",
    )
    assert len(records) == 5


def test_a_step_or_a_reinforcer_may_change_inside_a_session() -> None:
    (record,) = folded(
        "4.5.2026,9:00,sit,word,met,,,,1,kibble",
        "4.5.2026,9:01,sit,quick,x",
        "4.5.2026,9:02,sit,word,met,,,,1,cheddar",
    )
    assert [trial.step for trial in record.trials] == ["word", "quick", "word"]
    assert record.reinforcer == "cheddar"
    assert [trial.pieces for trial in record.trials] == [1, 0, 1]


def test_holds_keep_their_seconds_and_their_outcome() -> None:
    (record,) = folded(
        "4.5.2026,9:00,stay,five-seconds,,,5.5,5,1",
        "4.5.2026,9:01,stay,five-seconds,missed,,2,5",
        "4.5.2026,9:02,stay,five-seconds,helped,,5,5",
        "4.5.2026,9:03,stay,five-seconds,void,,2,5",
    )
    assert [trial.outcome for trial in record.trials] == [Outcome.MET, Outcome.MISSED, Outcome.HELPED, Outcome.VOID]
    assert [(t.hold.held_s, t.hold.target_s, t.hold.broke) for t in record.trials if t.hold] == [
        (5.5, 5.0, False),
        (2.0, 5.0, True),
        (5.0, 5.0, False),
        (2.0, 5.0, False),
    ]
    assert record.open_hold is None
    assert record.ended_at is not None


def test_rows_without_a_time_stand_at_noon_a_minute_apart_by_session() -> None:
    found = trials("4.5.2026,,sit,word,met", "4.5.2026,,down,3,met", "4.5.2026,,sit,word,x")
    local = [trial.at.astimezone(PERIOD.zone).replace(microsecond=0) for trial in found]
    assert [(at.date(), at.time()) for at in local] == [
        (date(2026, 5, 4), time(12)),
        (date(2026, 5, 4), time(12)),
        (date(2026, 5, 4), time(12, 1)),
    ]


def test_rows_of_this_morning_without_a_time_are_not_in_the_future() -> None:
    (trial,) = trials("12.5.2026,,sit,word,met")
    assert trial.at == PERIOD.now


def test_the_event_of_a_row_can_be_found_again() -> None:
    writer = SessionWriter(PROGRAMME, uuid4(), PERIOD)
    (session,) = group_sessions(trials(SAME, SAME))
    events = writer.write(session)
    assert {writer.rows[event.id] for event in events} == {2, 3}
    assert all(isinstance(event.at, datetime) and event.tz_offset_min == 60 for event in events)


NAMED = "date,time,behaviour,step,outcome,place,handler,session"


def sessions_named(*rows: str) -> list[SessionRecord]:
    found = reading(*rows, header=NAMED)
    assert not found.bad
    writer = SessionWriter(PROGRAMME, uuid4(), PERIOD)
    told = [writer.write(session) for session in group_sessions(identify(found.rows, PROGRAMME, PERIOD))]
    for event in (event for events in told for event in events):
        require_payload(event.kind, event.payload)
    return [record for events in told if (record := fold_session(events, TrialSource.IMPORTED)) is not None]


def test_place_and_handler_are_the_sessions_and_an_empty_cell_says_nothing() -> None:
    (one,) = sessions_named(
        "4.5.2026,9:00,sit,word,met,,",
        "4.5.2026,9:01,sit,word,x,  Old  mill ,Ida",
        "4.5.2026,9:02,sit,word,met,old mill,",
    )
    assert (one.place, one.handler, len(one.trials)) == ("Old mill", "Ida", 3)


@pytest.mark.parametrize("word", ["", "A"])
@pytest.mark.parametrize("other", ["Yard,Ida", "Old mill,Bo"])
def test_another_place_or_handler_is_another_session(other: str, word: str) -> None:
    rows = (f"4.5.2026,9:00,sit,word,met,Old mill,Ida,{word}", f"4.5.2026,9:01,sit,word,met,{other},{word}")
    assert [f"{one.place},{one.handler}" for one in sessions_named(*rows)] == ["Old mill,Ida", other]


def test_sheet_that_gains_a_place_keeps_the_ids_of_its_trials() -> None:
    row = "4.5.2026,9:00,sit,word,met"
    before, after = (
        identify(reading(row + more, header=NAMED).rows, PROGRAMME, PERIOD) for more in (",,", ",Yard,Ida")
    )
    assert before[0].id == after[0].id
