"""From cells to what each row says of a trial."""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.sheets.cells import DateOrder
from pupilage.core.sheets.moments import Period
from pupilage.core.sheets.rows import Reading, read_rows
from pupilage.core.sheets.text import read_table
from pupilage.core.training.record.evidence import Outcome, SessionKind

PERIOD = Period(
    date(2026, 5, 2), date(2026, 5, 23), ZoneInfo("Europe/Lisbon"), datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
)
HEADER = "date,time,behaviour,step,outcome,latency,held_s,target_s,pieces,reinforcer,kind,session"


def reading(*rows: str, header: str = HEADER, order: DateOrder | None = None) -> Reading:
    text = "\n".join((header, *rows))
    return read_rows(read_table(text.encode()), catalogue=load_bundled(), period=PERIOD, date_order=order)


def test_a_full_row_is_read() -> None:
    (row,) = reading('4.5.2026,14:30,sit,word,met,"1,5",,,2,chicken,probe,A').rows
    assert (row.number, row.day, row.at) == (2, date(2026, 5, 4), time(14, 30))
    assert (row.behaviour, row.step, row.outcome, row.kind) == ("sit", "word", Outcome.MET, SessionKind.PROBE)
    assert (row.latency_s, row.pieces, row.reinforcer, row.session) == (1.5, 2, "chicken", "A")


@pytest.mark.parametrize("behaviour", ["sit", "SIT", "Sits on cue"])
@pytest.mark.parametrize("step", ["word", "Word", "3", "The word, hands still."])
def test_behaviours_and_steps_go_by_key_name_or_place(behaviour: str, step: str) -> None:
    (row,) = reading(f'4.5.2026,,{behaviour},"{step}",met').rows
    assert (row.behaviour, row.step) == ("sit", "word")


def test_a_hold_gets_its_outcome_from_its_seconds() -> None:
    rows = reading(
        "4.5.2026,,stay,five-seconds,,,5,5",
        "4.5.2026,,stay,five-seconds,,,4.9,5",
        "4.5.2026,,stay,five-seconds,,,6",
    ).rows
    assert [row.outcome for row in rows] == [Outcome.MET, Outcome.MISSED, Outcome.MET]
    assert rows[2].target_s == 5.0, "the step's own duration stands in for a missing target"


def test_a_hold_and_an_outcome_that_contradict_each_other_are_refused() -> None:
    (bad,) = reading("4.5.2026,,stay,five-seconds,met,,3,5").bad
    assert "3 s of 5 s were held" in str(bad.problems[0])


def test_a_hold_may_be_helped_or_void_whatever_its_seconds() -> None:
    rows = reading("4.5.2026,,stay,five-seconds,h,,5,5", "4.5.2026,,stay,five-seconds,void,,5,5").rows
    assert [row.outcome for row in rows] == [Outcome.HELPED, Outcome.VOID]


def test_every_bad_cell_of_every_bad_row_is_reported() -> None:
    found = reading(
        "4.5.2026,,sit,word,met",
        "yesterday,25:99,fly,word,perhaps,fast,,,1.5,,show",
        "4.5.2026,,sit,nowhere,met",
        "4.5.2026,,sit,word,",
    )
    assert [row.number for row in found.rows] == [2]
    assert [bad.number for bad in found.bad] == [3, 4, 5]
    assert {problem.where for problem in found.bad[0].problems} == {
        "date", "time", "behaviour", "outcome", "latency", "pieces", "kind",
    }  # fmt: skip
    assert "garden-visitor" in str(found.bad[1].problems[0]), "the steps that exist are named"


@pytest.mark.parametrize("day", ["2026-05-01", "2026-05-24", "2025-05-04"])
def test_a_day_outside_the_programme_is_refused(day: str) -> None:
    (bad,) = reading(f"{day},,sit,word,met").bad
    assert "outside the programme" in str(bad.problems[0])


@pytest.mark.parametrize("moment", ["2026-05-13,", "2026-05-12,9:40"])
def test_a_moment_in_the_future_is_refused(moment: str) -> None:
    """It is 9:30 in Lisbon on 12 May."""
    (bad,) = reading(f"{moment},sit,word,met").bad
    assert "in the future" in str(bad.problems[0])


def test_days_whose_order_nothing_tells_are_refused_until_it_is_said() -> None:
    with pytest.raises(InvalidInput, match="--date-order dmy"):
        reading("5/6/2026,,sit,word,met")
    (row,) = reading("5/6/2026,,sit,word,met", order=DateOrder.MONTH_FIRST).rows
    assert row.day == date(2026, 5, 6)


def test_another_row_may_tell_the_order() -> None:
    found = reading("5/6/2026,,sit,word,met", "4/30/2026,,sit,word,met")
    assert found.rows[0].day == date(2026, 5, 6)
    assert [bad.number for bad in found.bad] == [3]


def test_both_orders_in_one_file_are_refused() -> None:
    with pytest.raises(InvalidInput, match="like 2026-03-05"):
        reading("13/5/2026,,sit,word,met", "5/13/2026,,sit,word,met", "5/6/2026,,sit,word,met")


def test_a_time_is_carried_down_inside_its_session_only() -> None:
    rows = reading(
        "4.5.2026,9:00,sit,word,met", "4.5.2026,,sit,word,met", "4.5.2026,,down,3,met", "4.5.2026,,sit,word,met"
    ).rows
    assert [row.at for row in rows] == [time(9), time(9), None, None]


def test_an_unquoted_decimal_comma_in_a_comma_separated_file_is_noticed() -> None:
    (bad,) = reading("4.5.2026,,sit,word,met,1,5,,,,,,A").bad
    assert "more cells than the header" in str(bad.problems[0])


def test_a_short_row_is_read_as_far_as_it_goes() -> None:
    assert reading("4.5.2026,,sit,word,met").rows[0].pieces == 0


OURS = "date,time,behaviour,step,outcome,held_s,target_s,broke,place,handler,trial_id"
ID = "7f0c7c3a-7a53-4a0e-9a0a-5b1de1d0c001"


def test_row_of_ours_keeps_its_id_and_what_was_put_right() -> None:
    (row,) = reading(f"4.5.2026,9:00,stay,five-seconds,met,3,5,yes,'=Yard,'-Ida,{ID}", header=OURS).rows
    assert (row.outcome, row.broke, row.place, row.handler, str(row.trial_id)) == (
        Outcome.MET,
        True,
        "=Yard",
        "-Ida",
        ID,
    )


def test_what_is_wrong_with_names_ids_and_broke_is_said_at_once() -> None:
    good = f"4.5.2026,9:00,sit,word,met,,,,,,{ID}"
    bad = f"4.5.2026,9:00,sit,word,met,,,perhaps,{'y' * 81},{'i' * 81},{ID}"
    found = reading(good, bad, "4.5.2026,9:00,sit,word,met,,,,,,7", header=OURS).bad
    assert [[problem.where for problem in row.problems] for row in found] == [
        ["trial_id", "broke", "place", "handler"],
        ["trial_id"],
    ]
