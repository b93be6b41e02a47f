"""`pupilage bench pack` makes packs in processes of their own and says how long and how large."""

import json

import pytest

pytestmark = pytest.mark.processes


def test_pack_of_5000_trials_is_measured(machine):
    done = machine.run("bench", "pack", "--runs", "1", "--json")
    assert done.returncode == 0, done.stderr
    rows = {row["what"]: row["measured"] for row in json.loads(done.stdout)}
    assert rows["pack, 12 behaviours, 5,000 trials"].endswith(" s")
    assert rows["its memory"].endswith(" MB")


def test_demo_has_a_pack_and_its_progress_is_shown_beside_the_output(machine, tmp_path):
    assert machine.run("demo", "--no-serve").returncode == 0
    done = machine.run("--demo", "handover", str(tmp_path / "pack.pdf"), "--language", "de")
    assert done.returncode == 0, done.stderr
    assert "Pack" in done.stderr
    assert "figures" in done.stdout
    assert (tmp_path / "pack.pdf").read_bytes().startswith(b"%PDF-1.7")
