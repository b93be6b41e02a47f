"""The common practice of sets of five."""

import pytest

from engine_cases import LETTERS
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.sets_of_five import (
    judge_set_of_five,
    operating_characteristics,
    set_of_five_chances,
    sets_of_five_until_decided,
)


@pytest.mark.parametrize(
    ("letters", "action"),
    [
        ("mmmmm", Action.RAISE),
        ("mxmmm", Action.RAISE),
        ("mxmmx", Action.KEEP),
        ("mxmxx", Action.LOWER),
        ("hhhhh", Action.LOWER),
        ("mmvmmv", None),
        ("mmvmmvm", Action.RAISE),
        ("xxxxx" + "mmmmm", Action.RAISE),
        ("mmmmm" + "xxxx", Action.RAISE),
        ("", None),
        ("mmmm", None),
    ],
)
def test_last_complete_set_speaks(letters, action):
    assert judge_set_of_five([LETTERS[letter] for letter in letters]) is action


@pytest.mark.parametrize("p", [0.0, 0.3, 0.77, 1.0])
def test_chances_of_one_set_add_up(p):
    assert sum(set_of_five_chances(p).values()) == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize("p", [0.0, 0.4, 0.85, 1.0])
def test_what_a_rule_does_adds_up(p):
    ours = operating_characteristics(p)
    assert ours.p_raise + ours.p_lower + ours.p_undecided == pytest.approx(1.0, abs=1e-12)
    theirs = sets_of_five_until_decided(p)
    assert theirs.p_raise + theirs.p_lower == pytest.approx(1.0, abs=1e-12)


def test_certain_dogs_are_judged_at_once():
    assert operating_characteristics(1.0).p_raise == 1.0
    assert operating_characteristics(1.0).n_trials == 7.0
    assert operating_characteristics(0.0).p_lower == 1.0
    assert operating_characteristics(0.0).n_trials == 3.0


def test_rule_that_never_decides_runs_to_the_end():
    found = operating_characteristics(0.5, lambda *counts: None, n_trials=6)
    assert (found.p_raise, found.p_lower, found.n_trials) == (0.0, 0.0, 6.0)
    assert found.p_undecided == pytest.approx(1.0)


@pytest.mark.parametrize("p", [-0.1, 1.1, float("nan")])
def test_chance_outside_its_range_is_refused(p):
    with pytest.raises(InvalidInput, match="no chance"):
        set_of_five_chances(p)
    with pytest.raises(InvalidInput, match="no chance"):
        operating_characteristics(p)
