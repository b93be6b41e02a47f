import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.gains import PRIOR_COUNT, Gain, say_gains, weigh_gains

SEEN = {Gain.ATTENTION: 6, Gain.THING: 2, Gain.PLAY: 1}


def test_chance_of_the_commonest_is_that_of_drawn_shares():
    # 200,000 draws: four standard errors, at most .0045.
    drawn = np.random.default_rng(1).dirichlet([PRIOR_COUNT + SEEN.get(gain, 0) for gain in Gain], 200_000)
    commonest = np.bincount(drawn.argmax(axis=1), minlength=len(Gain)) / len(drawn)
    found = {one.gain: one.p_commonest for one in weigh_gains(SEEN)}
    assert [found[gain] for gain in Gain] == pytest.approx(commonest, abs=0.0045)


def test_shares_add_up_and_the_likeliest_is_first():
    found = weigh_gains(SEEN)
    assert sum(one.share for one in found) == pytest.approx(1.0)
    assert found[0].gain is Gain.ATTENTION
    assert all(one.low < one.share < one.high for one in found)


def test_three_incidents_say_nothing_and_many_lean():
    assert "do not tell yet" in str(say_gains(weigh_gains({Gain.ATTENTION: 2, Gain.THING: 1})))
    assert "attention" in str(say_gains(weigh_gains({Gain.ATTENTION: 9, Gain.THING: 1})))
    with pytest.raises(InvalidInput):
        weigh_gains({Gain.PLAY: -1})
