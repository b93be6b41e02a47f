"""A coding in a file: the ways to write a time, and everything that is wrong at once."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.codings import Mark
from pupilage.core.sheets.codings import read_coding, read_moment_s


@pytest.mark.parametrize(
    ("cell", "seconds"),
    [("83.5", 83.5), ("83,5 s", 83.5), ("1:23.5", 83.5), ("1:02:03", 3723.0), ("0:07", 7.0)],
)
def test_times_are_read_as_people_write_them(cell, seconds):
    assert read_moment_s(cell) == seconds


@pytest.mark.parametrize("cell", ["", "soon", "1:75", "-3", "1:2:3:4"])
def test_other_words_are_no_time(cell):
    assert read_moment_s(cell) is None


def test_rows_are_put_in_order_and_the_end_is_the_length():
    read = read_coding(b"\xef\xbb\xbfCode;Time_s;note\nmissed;1:10;far off\nMet;5,5;\nend;90;\n", "Pia")
    assert (read.marks, read.length_s) == ((Mark(5.5, "met"), Mark(70.0, "missed")), 90.0)


def test_everything_wrong_is_told_at_once_by_row():
    with pytest.raises(InvalidInput) as refused:
        read_coding(b"time_s,code\n5,met\nsoon,met\n9,\n999999,met\n", "Pia")
    assert [problem.where for problem in refused.value.problems] == ["Pia, row 3", "Pia, row 4", "Pia, row 5"]


def test_missing_column_names_what_there_is():
    with pytest.raises(InvalidInput, match=r"needs the columns time_s and code; it has “when”, “code”"):
        read_coding(b"when,code\n5,met\n", "Pia")
