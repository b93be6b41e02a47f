"""Which column holds what."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.sheets.columns import Column, find_columns

NEEDED = ("date", "behaviour", "step", "outcome")


def test_names_match_without_regard_to_case_and_order() -> None:
    assert find_columns(("Outcome", "STEP", "Behavior", "Date"), {}) == {
        Column.OUTCOME: 0,
        Column.STEP: 1,
        Column.BEHAVIOUR: 2,
        Column.DATE: 3,
    }


def test_unknown_columns_are_passed_over() -> None:
    assert find_columns((*NEEDED, "weather", ""), {}).keys() == {Column(name) for name in NEEDED}


def test_a_header_can_be_named() -> None:
    columns = find_columns(("date", "behaviour", "step", "Got it?", "outcome"), {"outcome": "got it?"})
    assert columns[Column.OUTCOME] == 3


def test_held_seconds_do_in_place_of_an_outcome() -> None:
    assert Column.HELD in find_columns(("date", "behaviour", "step", "held_s"), {})


def test_everything_missing_is_said_at_once() -> None:
    with pytest.raises(InvalidInput) as refused:
        find_columns(("day", "Notes"), {"outcome": "Result", "colour": "x"})
    said = str(refused.value)
    for word in ("“behaviour”", "“step”", "“outcome”", "“colour” is no column", "“Notes”", "--column step=HEADER"):
        assert word in said


def test_a_column_that_stands_twice_is_refused() -> None:
    with pytest.raises(InvalidInput, match="Two columns are called “date”"):
        find_columns((*NEEDED, "Day"), {})
