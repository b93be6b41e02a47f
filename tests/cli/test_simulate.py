"""Scoring rules on invented dogs, from the command line."""

import json


def test_scores_come_with_their_standard_errors(run):
    done = run("simulate", "--regime", "mod", "--dogs", "20", "--json")
    assert done.exit_code == 0
    scores = json.loads(done.stdout)
    assert len(scores) == 4 * 4
    assert all(0 < score["goals_met"] < 8 and score["standard_error"] > 0 for score in scores)


def test_one_dog_is_too_few(run):
    done = run("simulate", "--dogs", "1")
    assert done.exit_code == 2
    assert "1 dogs cannot be scored; give 2 to 20000." in done.stderr
