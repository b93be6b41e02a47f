"""`pupilage bench progress` times the pages of progress and says how."""

import json

import pytest

pytestmark = pytest.mark.processes


def test_pages_of_progress_are_measured(machine):
    done = machine.run("bench", "progress", "--runs", "1", "--json")
    assert done.returncode == 0, done.stderr
    rows = json.loads(done.stdout)
    assert len(rows) == 9
    assert all(row["measured"].endswith(" ms") for row in rows)
