"""The table of outside checks names tests that exist, and tells of every value: checked, not ours, or not yet."""

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROWS = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in (ROOT / "docs" / "reference" / "outside-checks.md").read_text(encoding="utf-8").splitlines()
    if line.startswith("| ") and not line.startswith(("| value", "| ---"))
]


def test_every_test_that_is_named_exists():
    named = {path for row in ROWS for path in re.findall(r"`(tests/[^`]+)`", row[2])}
    assert named
    assert not [path for path in named if not (ROOT / path).is_file()]


def test_every_row_says_whether_it_is_checked():
    assert all("`tests/" in row[2] or row[2].startswith(("not yet", "not ours")) for row in ROWS)


def test_values_from_1_to_63_are_all_told_of():
    told: set[int] = set()
    for value, *_ in ROWS:
        for first, last in re.findall(r"R(\d+)[a-z]?(?:–R(\d+))?", value):
            told |= set(range(int(first), int(last or first) + 1))
    assert told == set(range(1, 64))
