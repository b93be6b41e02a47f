"""The square code of a link holds the link and nothing else."""

import re
from urllib.parse import unquote

import segno

from pupilage.reports.square_code import square_code

ADDRESS = "https://example.org/for/" + "A" * 43 + "/"


def test_code_is_that_of_the_address_and_comes_from_nowhere_else():
    found = square_code(ADDRESS)
    assert found.startswith("data:image/svg+xml")
    assert re.findall(r"https?://[^'\"]+", unquote(found)) == ["http://www.w3.org/2000/svg"]
    assert segno.make(ADDRESS, error="m", micro=False).designator in {"5-M", "6-M"}


def test_other_address_has_another_code():
    assert square_code(ADDRESS) != square_code(ADDRESS.replace("A", "B"))
