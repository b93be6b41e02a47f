"""What latency adds to the estimate, from the command line."""

import json

from pupilage.core.simulation.timed_dogs import Starts


def test_every_world_is_measured_beside_the_outcomes_alone(run):
    done = run("bench", "latency", "--behaviours", "6", "--json")
    assert done.exit_code == 0
    rows = json.loads(done.stdout)
    assert [row["latencies"] for row in rows[2:]] == [str(starts) for starts in Starts]
    assert rows[0]["gain"] == "–"
    assert all("±" in row["gain"] for row in rows[1:])
