"""The family's lesson: their tries beside the trainer's newest, and what is proposed to be done."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.handover.lesson import LEAST, NEWEST, carry_over, difference_limits, propose_items
from pupilage.core.training.record.evidence import Outcome

MET, MISSED, HELPED, VOID = Outcome.MET, Outcome.MISSED, Outcome.HELPED, Outcome.VOID


def test_helped_tries_count_as_not_met_and_void_ones_for_nothing():
    found = carry_over("sit", "word", [MET, HELPED, VOID, MISSED], [MET] * 6)
    assert (found.n_met, found.n) == (1, 3)


def test_only_the_newest_tries_of_the_trainer_count():
    found = carry_over("sit", "word", [MET] * 5, [MISSED] * 40 + [MET] * NEWEST)
    assert (found.own_met, found.own_n) == (NEWEST, NEWEST)
    assert found.difference == 0.0


@pytest.mark.parametrize(("theirs", "own"), [(LEAST - 1, 20), (20, LEAST - 1), (0, 0)])
def test_too_few_tries_say_nothing_of_a_difference(theirs, own):
    found = carry_over("sit", "word", [MET] * theirs, [MET] * own)
    assert (found.difference, found.low, found.high) == (None, None, None)


def test_family_that_fares_worse_has_a_difference_below_none():
    found = carry_over("sit", "word", [MET] * 2 + [MISSED] * 8, [MET] * 20)
    assert found.low < found.difference < found.high < 0


def test_limits_are_turned_round_when_the_sides_are():
    low, high = difference_limits(7, 10, 15, 20)
    assert difference_limits(15, 20, 7, 10) == pytest.approx((-high, -low))


def test_nothing_against_nothing_is_refused():
    with pytest.raises(InvalidInput):
        difference_limits(0, 0, 3, 5)


def test_each_goal_is_proposed_and_then_the_usual_ones():
    found = propose_items([("sit", "Sit"), ("recall", "Comes when called")])
    assert [key for key, _ in found][:3] == ["cue:sit", "cue:recall", "outing"]
    assert str(found[1][1]) == "Asked for “Comes when called”, and it worked"
    assert len({key for key, _ in found}) == len(found)
