"""How long the test for richer pay runs before it rings, against the linear equations of its states.

Sources: Wald, 1945, Ann. Math. Stat. 16:117-186 (0.60 against 0.85, both errors 0.10); Page, 1954, Biometrika
41:100-115 (the test begun anew; from memory). The expected run lengths solve m = 1 + P m over the test's states, with
NumPy; 40, 79 and 229 tries are what docs/science/reinforcement.md tells.
"""

from math import log

import numpy as np
import pytest

from engine_cases import WAIT, day, series
from pupilage.core.training.rewards.thinning import RATIOS, Change, _Run, thin

PER_MET, PER_MISS, LIMIT = log(0.85 / 0.60), log(0.15 / 0.40), log(0.1 / 0.9)


def run_length(p):
    """Return the expected tries to the alarm of a dog that meets a share p, on a lattice of 0.002 in the log ratio."""
    width = 0.002
    n = round(-LIMIT / width)
    stay = np.zeros((n, n))
    for i in range(n):
        stay[i, round(max(0.0, i * width - PER_MET) / width)] += p
        after_miss = i * width - PER_MISS
        if after_miss < -LIMIT:
            stay[i, min(n - 1, round(after_miss / width))] += 1.0 - p
    return float(np.linalg.solve(np.eye(n) - stay, np.ones(n))[0])


@pytest.mark.parametrize(("p", "tries"), [(0.6, 10), (0.7, 17), (0.8, 40), (0.85, 79), (0.9, 229)])
def test_run_lengths_are_those_the_page_tells(p, tries):
    assert run_length(p) == pytest.approx(tries, rel=0.03)


@pytest.mark.parametrize("p", [0.6, 0.8])
def test_run_really_rings_after_that_many_tries(p):
    """600 runs of the code itself; the spread of a run length is about its mean, so the standard error is 4 %."""
    rng = np.random.default_rng(5)
    lengths = []
    for _ in range(600):
        run, n = _Run(level=3), 0
        while run.change is not Change.MISSES:
            n += 1
            run.take(series("m" if rng.random() < p else "x")[0])
        lengths.append(n)
    assert np.mean(lengths) == pytest.approx(run_length(p), rel=0.16)


def test_dog_that_is_steady_at_nine_in_ten_comes_to_thin_pay_and_stays_there():
    """200 dogs, 20 sessions of 12 tries paid by the plan: common practice knows one in 2 or 3 after mastery."""
    rng = np.random.default_rng(8)
    levels = []
    for _ in range(40):
        trials = []
        for n in range(20):
            session = f"s{n}"
            level = thin(WAIT, "d", trials, session_id=session, zone=day(0).tzinfo).level
            letters = "".join(rng.choice(["m", "x"], 12, p=[0.92, 0.08]))
            trials += paid(series(letters, step="d", session=session, start=day(n)), RATIOS[level])
        levels.append(level)
    assert np.median(levels) >= 2


def paid(trials, ratio):
    """Give a piece for one met try in `ratio`, evenly."""
    from dataclasses import replace

    given, n = [], 0
    for trial in trials:
        met = trial.outcome == "met"
        n += met
        given.append(replace(trial, pieces=int(met and int(n / ratio) > int((n - 1) / ratio))))
    return given
