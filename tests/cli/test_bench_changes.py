"""How often the words on plans are wrong, from the command line."""

import json

from pupilage.core.simulation.phase_records import WORLDS


def test_every_world_is_measured(run):
    done = run("bench", "changes", "--records", "10", "--json")
    assert done.exit_code == 0
    found = json.loads(done.stdout)
    assert list(found) == [world.name for world in WORLDS]
    assert all(one["n"] == 10 for one in found.values())
    assert "published rule" in run("bench", "changes", "--records", "10").stdout
