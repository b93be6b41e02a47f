"""Words heard so far: limits beside statsmodels' Wilson, counts beside a cross-table's (statsmodels' Table).

Sources: Wilson, 1927, J. Am. Stat. Assoc. 22; statsmodels proportion_confint, method "wilson", and SquareTable.
"""

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.contingency_tables import SquareTable
from statsmodels.stats.proportion import proportion_confint

from pupilage.core.recordings.words.heard_so_far import NEEDED, HeardSoFar, count_heard

WORDS = [("cue", "sit"), ("cue", "down"), ("marker", "yes")]
SIT = WORDS[0]


@pytest.mark.parametrize("seed", range(5))
def test_counts_and_limits_are_those_of_statsmodels(seed):
    rng = np.random.default_rng(seed)
    heard = rng.integers(0, 4, 200)
    said = np.where(rng.random(200) < 0.7, heard, rng.integers(0, 4, 200))
    named = [*WORDS, None]
    table = SquareTable.from_data(pd.DataFrame({"heard": heard, "said": said}), shift_zeros=False).table
    n_suggested, n_said = table.sum(axis=1), table.sum(axis=0)
    for i, one in enumerate(count_heard(WORDS, [(named[a], named[b]) for a, b in zip(heard, said, strict=True)])):
        counts = [table[i, i], n_suggested[i] - table[i, i], n_said[i] - table[i, i]]
        assert [one.n_right, one.n_wrong, one.n_missed] == counts
        for share, n in ((one.right, n_suggested[i]), (one.found, n_said[i])):
            assert (share.low, share.high) == pytest.approx(proportion_confint(table[i, i], n, method="wilson"))
            assert share.p_met == table[i, i] / n


def test_fewer_than_ten_are_not_enough():
    assert count_heard([SIT], [(SIT, SIT)] * (NEEDED - 1))[0].right is None
    share = count_heard([SIT], [(SIT, SIT)] * NEEDED)[0].found
    assert (share.low, share.high) == pytest.approx(proportion_confint(10, 10, method="wilson"))
    assert count_heard([SIT], [(SIT, None), (None, SIT), (WORDS[1], WORDS[1])]) == [HeardSoFar(SIT, 0, 1, 1)]
