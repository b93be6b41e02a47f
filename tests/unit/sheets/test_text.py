"""From a file's bytes to its cells."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.sheets.text import MAX_BYTES, read_table

PLAIN = "date,step,outcome\n2026-05-04,größe,met\n"


@pytest.mark.parametrize(
    ("codec", "encoding"),
    [
        ("utf-8", "UTF-8"),
        ("utf-8-sig", "UTF-8 with a byte-order mark"),
        ("utf-16", "UTF-16"),
        ("cp1252", "Windows-1252"),
    ],
)
def test_every_usual_encoding_gives_the_same_cells(codec: str, encoding: str) -> None:
    table = read_table(PLAIN.encode(codec))
    assert table.encoding == encoding
    assert table.header == ("date", "step", "outcome")
    assert table.rows == ((2, ("2026-05-04", "größe", "met")),)


def test_big_endian_utf_16_with_its_mark_is_read() -> None:
    assert read_table(b"\xfe\xff" + PLAIN.encode("utf-16-be")).rows[0][1][1] == "größe"


@pytest.mark.parametrize("content", [PLAIN.encode("utf-16-le"), b"PK\x03\x04\x00\x00", b"a,b\n\x81\x8d,2\n"])
def test_bytes_of_no_known_encoding_are_refused(content: bytes) -> None:
    with pytest.raises(InvalidInput, match="CSV UTF-8"):
        read_table(content)


@pytest.mark.parametrize(("sign", "separator"), [(",", "comma"), (";", "semicolon"), ("\t", "tab")])
def test_the_separator_is_found_from_the_header(sign: str, separator: str) -> None:
    table = read_table(PLAIN.replace(",", sign).encode())
    assert (table.separator, table.header) == (separator, ("date", "step", "outcome"))


def test_a_declared_separator_is_obeyed_and_its_line_counts() -> None:
    table = read_table(b"sep=;\r\ndate;step\r\n2026-05-04;a,b\r\n")
    assert table.rows == ((3, ("2026-05-04", "a,b")),)


def test_quoted_cells_may_hold_separators_quotes_and_line_ends() -> None:
    table = read_table(b'date,note\n2026-05-04,"one, ""two""\nthree"\n2026-05-05,x\n')
    assert table.rows == ((2, ("2026-05-04", 'one, "two"\nthree')), (3, ("2026-05-05", "x")))


def test_empty_rows_are_left_out_but_counted() -> None:
    assert [number for number, _ in read_table(b"a,b\n\n1,2\n,\n3,4\n").rows] == [3, 5]


def test_a_quote_that_never_closes_is_named_by_its_row() -> None:
    with pytest.raises(InvalidInput, match="row 3"):
        read_table(b'a,b\n1,2\n"3,4\n5,6\n')


@pytest.mark.parametrize("content", [b"", b"\n\n", b"\xef\xbb\xbf", b",,\n"])
def test_a_file_without_rows_is_refused(content: bytes) -> None:
    with pytest.raises(InvalidInput, match="holds no rows"):
        read_table(content)


def test_a_huge_file_is_refused() -> None:
    with pytest.raises(InvalidInput, match="20 MiB"):
        read_table(b"a" * (MAX_BYTES + 1))
