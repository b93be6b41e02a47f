"""From a file's bytes to its cells: which encoding, which separator."""

import csv
import io
from codecs import BOM_UTF8, BOM_UTF16_BE, BOM_UTF16_LE
from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput

SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
MAX_BYTES = 20 * 1024 * 1024


@dataclass(frozen=True)
class Table:
    """The cells of a file: the header, and each later row with its number as a spreadsheet shows it."""

    encoding: str
    separator: str
    header: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]


def read_table(content: bytes) -> Table:
    """Return the cells of a CSV file; empty rows are left out, but counted in the numbers.

    Encodings: UTF-8 with or without a byte-order mark, UTF-16 with one, else Windows-1252. Separators: comma,
    semicolon, tab, whichever parts the header into most cells; a first line such as `sep=;` settles it.
    Raises InvalidInput for a file that is empty, too large, in another encoding, or with a quote that never closes.
    """
    encoding, text = decode(content)
    separator, text, first_row = _take_declared_separator(text)
    separator = separator or find_separator(text)
    records = _parse(text, separator, first_row)
    filled = [(number, cells) for number, cells in records if any(cells)]
    if not filled:
        raise InvalidInput.of("file", "The file holds no rows; save the sheet as CSV with its header row.")
    return Table(encoding, SEPARATORS[separator], filled[0][1], tuple(filled[1:]))


def decode(content: bytes) -> tuple[str, str]:
    """Return the encoding's name and the text. Raises InvalidInput when it is none of the known ones."""
    if len(content) > MAX_BYTES:
        raise InvalidInput.of("file", "The file is over {most} MiB; split it.", most=MAX_BYTES // 2**20)
    if content.startswith((BOM_UTF16_LE, BOM_UTF16_BE)):
        return "UTF-16", _decoded(content, "utf-16")
    if b"\0" in content:
        raise InvalidInput.of("file", "This is no text in a known encoding; save the sheet as “CSV UTF-8”.")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "Windows-1252", _decoded(content, "cp1252")
    return "UTF-8 with a byte-order mark" if content.startswith(BOM_UTF8) else "UTF-8", text


def _decoded(content: bytes, codec: str) -> str:
    try:
        return content.decode(codec)
    except UnicodeDecodeError as error:
        raise InvalidInput.of(
            "file",
            "This is no text in a known encoding (byte {byte}); save the sheet as “CSV UTF-8”.",
            byte=error.start,
        ) from error


def _take_declared_separator(text: str) -> tuple[str, str, int]:
    """Return the separator that the first line declares, or nothing, and the text and row number after it."""
    line, _, rest = text.partition("\n")
    declared = line.strip("\r\n").removeprefix("sep=")
    if line.startswith("sep=") and declared in SEPARATORS:
        return declared, rest, 2
    return "", text, 1


def find_separator(text: str) -> str:
    """Return the separator that parts the first filled line into most cells; a comma where none does."""
    header = next((line for line in text.splitlines() if line.strip()), "")
    return max(SEPARATORS, key=lambda separator: len(next(csv.reader([header], delimiter=separator))))


def _parse(text: str, separator: str, first_row: int) -> Sequence[tuple[int, tuple[str, ...]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    records: list[tuple[int, tuple[str, ...]]] = []
    try:
        for number, cells in enumerate(reader, first_row):
            records.append((number, tuple(cell.strip() for cell in cells)))
    except csv.Error as error:
        raise InvalidInput.of(
            f"row {first_row + len(records)}",
            "The quotes of this row do not fit ({error}); give each quoted cell its closing quote.",
            error=str(error),
        ) from error
    return records
