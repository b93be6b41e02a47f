"""Scoring rules on invented dogs, from the command line."""

import json
import re
import shlex
import sys
from pathlib import Path

import pytest

from pupilage.core.simulation.worlds.fixed_rules import FIXED_RULES

PAGE = (Path(__file__).parents[2] / "docs" / "how-to" / "own-policy.md").read_text()
FEW = ("simulate", "--regime", "mod", "--dogs", "4", "--json")


@pytest.fixture
def here(tmp_path, monkeypatch):
    """Stand in an empty folder whose modules are forgotten afterwards."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "path", list(sys.path))
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    known = set(sys.modules)
    yield tmp_path
    for name in set(sys.modules) - known:
        if str(getattr(sys.modules[name], "__file__", "")).startswith(str(tmp_path)):
            del sys.modules[name]


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


def test_the_page_s_example_runs_as_the_page_says(run, here):
    code, command = re.search(r"```python\n(.*?)```", PAGE, re.DOTALL), re.search(r"```sh\n(.*?)\n```", PAGE)
    (here / "mine.py").write_text(code[1])
    program, *arguments = shlex.split(command[1])
    assert program == "pupilage"
    arguments[arguments.index("--dogs") + 1] = "10"
    done = run(*arguments, "--json")
    assert done.exit_code == 0
    scores = json.loads(done.stdout)
    assert [score["policy"] for score in scores] == [*FIXED_RULES, "mine:ClosestToGoal"]
    assert {score["world"] for score in scores} == {"mod/mine:SteadyDog"}
    assert all(0 < score["goals_met"] < 8 for score in scores)


def test_same_dogs_of_your_own_give_the_same_scores(run, here):
    (here / "again.py").write_text(re.search(r"```python\n(.*?)```", PAGE, re.DOTALL)[1])
    first, second = (run(*FEW, "--learner", "again:SteadyDog").stdout for _ in range(2))
    assert first == second
    assert first != run(*FEW, "--learner", "again:SteadyDog", "--seed", "2").stdout


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("mine", "“mine” is no module:name, such as mine:Patient."),
        ("nowhere_at_all:X", "There is no module “nowhere_at_all”"),
        ("empty:Nothing", "The module “empty” has nothing named “Nothing”."),
        ("empty:NUMBER", "“empty:NUMBER” cannot be called"),
        ("wants:X", "The module “wants” needs “not_there_either”, which is not there."),
        ("broken:X", "The module “broken” cannot be used: SyntaxError"),
        ("empty:dict", "“empty:dict” makes {}; a policy needs choose and observe."),
    ],
)
def test_policy_that_cannot_be_used_is_refused_in_words(run, here, name, said):
    (here / "empty.py").write_text("NUMBER = 3\ndef dict(programme):\n    return {}\n")
    (here / "wants.py").write_text("import not_there_either\n")
    (here / "broken.py").write_text("def (:\n")
    done = run(*FEW, "--policy", name)
    assert done.exit_code == 2
    assert said in done.stderr


@pytest.mark.parametrize(
    ("choice", "said"),
    [
        ("(2, 0)", "Behaviour 2 is not open"),
        ("(0, 6)", "A policy chose behaviour 0 at step 6"),
        ("(8, 0)", "there are 8 behaviours of 6 steps"),
        ("5", "A policy chose 5; return (behaviour, step), or None to rest."),
        ("(observation.block, 0)", "A session of behaviour 0 cannot go on with 1."),
        ("None if observation.block else (0, 0)", "cannot rest between the two blocks"),
    ],
)
def test_choice_that_is_not_open_is_refused_in_words(run, here, choice, said):
    (here / "odd.py").write_text(
        "class Odd:\n"
        "    def __init__(self, programme): pass\n"
        f"    def choose(self, observation): return {choice}\n"
        "    def observe(self, outcomes): pass\n"
    )
    done = run(*FEW, "--policy", "odd:Odd")
    assert done.exit_code == 2
    assert said in done.stderr


def test_learner_that_gives_no_outcome_is_refused_in_words(run, here):
    (here / "mute.py").write_text(
        "class Mute:\n"
        "    def __init__(self, programme, rng): pass\n"
        "    def attempt(self, behaviour, step, rng): return True\n"
        "    def after_block(self, behaviour, step, outcomes): pass\n"
        "    def overnight(self, days): pass\n"
    )
    done = run(*FEW, "--learner", "mute:Mute")
    assert done.exit_code == 2
    assert "A learner's attempt gave True; return an Outcome." in done.stderr


def test_learner_without_its_methods_is_refused_in_words(run, here):
    (here / "half.py").write_text(
        "class Half:\n    def __init__(self, programme, rng): pass\n    def attempt(self, behaviour, step, rng): pass\n"
    )
    done = run(*FEW, "--learner", "half:Half")
    assert done.exit_code == 2
    assert "a learner needs attempt, after_block and overnight" in done.stderr
