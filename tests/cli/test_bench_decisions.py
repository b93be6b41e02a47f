"""`pupilage bench decisions`, our policy played by a fixed rule so that no tables of a regime need be solved."""

import json
from functools import partial

import pytest

from pupilage.core.simulation.worlds import decisions
from pupilage.core.simulation.worlds.comparison import FIXED
from pupilage.core.simulation.worlds.fixed_rules import FIXED_RULES


@pytest.fixture
def quick(monkeypatch):
    stand_in = partial(decisions.score_worlds, our=FIXED["eight of ten, skip done"])
    monkeypatch.setattr(decisions, "score_worlds", stand_in)


def test_every_figure_has_its_world_error_and_target(run, quick):
    done = run("bench", "decisions", "--dogs", "20", "--regime", "mod", "--truth", "bkt", "--seed", "3", "--json")
    assert done.exit_code == 0
    lines = json.loads(done.stdout)
    by_what = {line["what"]: line for line in lines}
    assert {line["world"] for line in lines} == {"mod/bkt"}
    assert {(line["dogs"], line["seed"]) for line in lines} == {(20, 3)}
    policies = [*FIXED_RULES, "ours", "ours, followed 70 %", "fair ceiling", "all-seeing policy", "Lagrangian bound"]
    assert list(by_what)[: len(policies)] == policies
    assert all(by_what[policy]["error"] > 0.0 for policy in policies)
    assert by_what["share of the gap closed"]["target"] == 0.6
    assert "mod/bkt: 1 of 1 worlds" in done.stderr


def test_worlds_outside_all_models_have_no_ceiling(run, quick):
    done = run("bench", "decisions", "--dogs", "10", "--regime", "easy", "--truth", "out")
    assert done.exit_code == 0
    assert "ours, followed 70 %" in done.stdout
    assert "ceiling" not in done.stdout
    assert "share of the gap" not in done.stdout


def test_one_dog_is_too_few(run):
    done = run("bench", "decisions", "--dogs", "1", "--regime", "hard", "--truth", "rw")
    assert done.exit_code == 2
    assert "1 dogs cannot be scored; give 2 to 20000." in done.stderr
