"""What one cell says."""

from datetime import date, time

import pytest

from pupilage.core.sheets.cells import (
    DateOrder,
    depends_on_order,
    possible_orders,
    read_count,
    read_day,
    read_kind,
    read_number,
    read_outcome,
    read_time,
    split_moment,
)
from pupilage.core.training.record.evidence import Outcome, SessionKind

DMY, MDY = DateOrder.DAY_FIRST, DateOrder.MONTH_FIRST


@pytest.mark.parametrize(
    ("cell", "number"),
    [("1.5", 1.5), ("1,5", 1.5), ("0", 0.0), ("12", 12.0), ("3s", 3.0), ("3,2 s", 3.2), ("", None), ("-1", None)]
    + [(bad, None) for bad in ("nan", "inf", "1e3", "1.2.3", "1,234,5", "abc", "½", "٣.٥.")],
)
def test_numbers_are_read_with_point_or_comma(cell: str, number: float | None) -> None:
    assert read_number(cell) == number


@pytest.mark.parametrize(("cell", "n"), [("2", 2), ("2,0", 2), ("2.5", None), ("-2", None), ("two", None)])
def test_counts_are_whole(cell: str, n: int | None) -> None:
    assert read_count(cell) == n


@pytest.mark.parametrize(
    ("cell", "order", "day"),
    [
        ("2026-03-05", MDY, date(2026, 3, 5)),
        ("2026/3/5", MDY, date(2026, 3, 5)),
        ("5.3.2026", MDY, date(2026, 3, 5)),
        ("05.03.26", MDY, date(2026, 3, 5)),
        ("5/3/2026", DMY, date(2026, 3, 5)),
        ("5/3/2026", MDY, date(2026, 5, 3)),
        ("5-3-2026", DMY, date(2026, 3, 5)),
        ("31/2/2026", DMY, None),
        ("13/13/2026", DMY, None),
        ("5/3-2026", DMY, None),
        ("March 5", DMY, None),
        ("46086", DMY, None),
        ("", DMY, None),
    ],
)
def test_days_are_read_by_their_form(cell: str, order: DateOrder, day: date | None) -> None:
    assert read_day(cell, order) == day


@pytest.mark.parametrize(
    ("cells", "orders"),
    [
        (["5/3/2026", "13/3/2026"], {DMY}),
        (["5/3/2026", "3/13/2026"], {MDY}),
        (["5/3/2026", "4/4/2026"], {DMY, MDY}),
        (["13/3/2026", "3/13/2026"], set()),
        (["13.3.2026", "2026-03-13"], {DMY, MDY}),
    ],
)
def test_one_day_over_twelve_settles_the_order_of_the_file(cells: list[str], orders: set[DateOrder]) -> None:
    assert possible_orders(cells) == orders


@pytest.mark.parametrize(("cell", "depends"), [("5/3/2026", True), ("04/4/2026", False), ("5.3.2026", False)])
def test_some_days_read_the_same_in_both_orders(cell: str, depends: bool) -> None:
    assert depends_on_order(cell) is depends


@pytest.mark.parametrize(
    ("cell", "at"),
    [
        ("14:30", time(14, 30)),
        ("9.05", time(9, 5)),
        ("14:30:05", time(14, 30, 5)),
        ("2:30 pm", time(14, 30)),
        ("12:10 AM", time(0, 10)),
        ("12:10 p.m.", time(12, 10)),
        ("25:00", None),
        ("13:00 pm", None),
        ("noon", None),
        ("14", None),
    ],
)
def test_times_are_read_by_the_clock(cell: str, at: time | None) -> None:
    assert read_time(cell) == at


def test_a_cell_may_hold_day_and_time() -> None:
    assert split_moment("2026-03-05 14:30") == ("2026-03-05", "14:30")
    assert split_moment("2026-03-05T14:30") == ("2026-03-05", "14:30")
    assert split_moment("5.3.2026") == ("5.3.2026", "")


@pytest.mark.parametrize(
    ("cell", "outcome"),
    [
        ("met", Outcome.MET),
        ("Y", Outcome.MET),
        ("1", Outcome.MET),
        ("missed", Outcome.MISSED),
        ("x", Outcome.MISSED),
        ("0", Outcome.MISSED),
        ("n", Outcome.MISSED),
        ("helped", Outcome.HELPED),
        ("h", Outcome.HELPED),
        ("void", Outcome.VOID),
        ("perhaps", None),
        ("", None),
    ],
)
def test_outcomes_are_read_from_words_and_signs(cell: str, outcome: Outcome | None) -> None:
    assert read_outcome(cell) is outcome


def test_an_empty_kind_is_training() -> None:
    assert read_kind("") is SessionKind.TRAINING
    assert read_kind("Baseline") is SessionKind.PROBE
    assert read_kind("show") is None
