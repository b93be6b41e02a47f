"""Whole codings, from the rows of a file to the figures, on the published examples.

Sources: Reed & Azulay (2011), Behavior Analysis in Practice 4(2), 45-52, as quoted on other pages; Cohen's kappa and
its limits beside statsmodels, scikit-learn and R61; Feinstein & Cicchetti (1990), J. Clin. Epidemiol. 43, 543-549 (the
two tables, from memory): the same share, another kappa; the pairing of marks beside SciPy's assignment solver.
"""

import random
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment
from statsmodels.stats.inter_rater import cohens_kappa

from pupilage.cli.checks_environment import ask
from pupilage.core.evaluation.codings import Mark, coding_of
from pupilage.core.evaluation.comparison import Terms, compare_codings
from pupilage.core.evaluation.matching import match_marks
from pupilage.core.evaluation.talking_over import say_kappa
from pupilage.core.sheets.codings import read_coding

BESIDE = Path(__file__).resolve().parent.parent / "beside"
WORDS = ["met", "missed", "helped", "void"]


def sheet(counts, length_s, interval_s=60.0):
    """Return the CSV of a coding with so many marks in each interval, and its end."""
    rows = [
        f"{interval_s * i + (k + 1) * interval_s / (count + 1):.2f},bark"
        for i, count in enumerate(counts)
        for k in range(count)
    ]
    return "\n".join(["time_s,code", *rows, f"{length_s},end"]).encode()


def test_files_of_the_worked_example_of_counts_give_its_figures():
    one = read_coding(sheet([1, 1, 1, 2, *[0] * 11], 900), "one")
    other = read_coding(sheet([0, 0, 0, 1, *[0] * 10, 4], 900), "other")
    found = compare_codings(one, other, Terms(interval_s=60.0))
    assert found.n_intervals == 15
    counts = found.overall.counts
    assert (counts.total, counts.mean, counts.exact) == pytest.approx((1.0, 0.700, 0.667), abs=5e-4)


def test_files_of_the_worked_example_of_intervals_give_its_figures():
    one = read_coding(sheet([1, 0, 0, 0, 1, 1, 0], 70, 10.0), "one")
    other = read_coding(sheet([0, 0, 0, 0, 1, 1, 1], 70, 10.0), "other")
    found = compare_codings(one, other)
    intervals = found.overall.intervals
    assert (found.terms.interval_s, found.n_intervals) == (10.0, 7)
    assert (intervals.all, intervals.scored, intervals.unscored) == pytest.approx((0.714, 0.5, 0.6), abs=5e-4)


def codings(table, words, seed=1):
    """Return two codings whose trials, ten seconds apart and up to 0.9 s off, make a table of counts."""
    draw = random.Random(seed)
    pairs = [(words[i], words[j]) for i, row in enumerate(table) for j, count in enumerate(row) for _ in range(count)]
    draw.shuffle(pairs)
    one = [Mark(10.0 * n + 1.0, a) for n, (a, _) in enumerate(pairs)]
    other = [Mark(10.0 * n + 1.0 + draw.uniform(-0.9, 0.9), b) for n, (_, b) in enumerate(pairs)]
    return coding_of("one", one, length_s=10.0 * len(pairs)), coding_of("other", other, length_s=10.0 * len(pairs))


@pytest.mark.parametrize(
    "table",
    [
        [[20, 5], [10, 15]],
        [[12, 3, 1], [2, 9, 4], [0, 5, 14]],
        [[31, 2, 0, 1], [4, 8, 1, 0], [0, 1, 5, 0], [1, 0, 0, 2]],
    ],
)
def test_kappa_of_the_matched_moments_is_statsmodels(table):
    found = compare_codings(*codings(table, WORDS))
    theirs = cohens_kappa(table)
    n = sum(map(sum, table))
    assert found.share == pytest.approx(sum(table[i][i] for i in range(len(table))) / n)
    assert found.matched.kappa == pytest.approx(theirs.kappa)
    assert (found.matched.low, found.matched.high) == pytest.approx((theirs.kappa_low, theirs.kappa_upp))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_kappa_and_agreement_of_the_matched_moments_are_scikit_learns(other_programs, seed):
    found = compare_codings(*codings([[31, 2, 0, 1], [4, 8, 1, 0], [0, 1, 5, 0], [1, 0, 0, 2]], WORDS, seed))
    both = [(pair.one.code, pair.other.code) for pair in found.moments if pair.one and pair.other]
    told = ask(BESIDE / "coding_kappa.py", ",".join(a for a, _ in both), ",".join(b for _, b in both))
    assert (found.matched.kappa, found.matched.share) == pytest.approx((told["kappa"], told["share"]))


def test_kappa_of_the_list_is_reached_from_codings():
    found = compare_codings(*codings([[20, 5], [10, 15]], ["yes", "no"])).matched  # R61
    assert (found.kappa, found.low, found.high) == pytest.approx((0.4, 0.151092, 0.648907), abs=1e-6)


def test_same_share_has_another_kappa_where_one_word_is_common():
    even = compare_codings(*codings([[40, 9], [6, 45]], ["met", "missed"]))
    uneven = compare_codings(*codings([[80, 10], [5, 5]], ["met", "missed"]))
    assert even.share == uneven.share == pytest.approx(0.85)
    assert (even.matched.kappa, uneven.matched.kappa) == pytest.approx((0.70, 0.32), abs=5e-3)
    assert any("depends on how common the words are" in str(says) for says in say_kappa(uneven))


@pytest.mark.parametrize("seed", range(25))
def test_marks_are_paired_as_the_best_assignment_pairs_them(seed):
    """Most pairs within the tolerance first, then the smallest sum of differences: SciPy, with pairs that may cross."""
    draw = np.random.default_rng(seed)
    one = sorted(draw.uniform(0.0, 60.0, draw.integers(1, 30)))
    other = sorted(draw.uniform(0.0, 60.0, draw.integers(1, 30)))
    tolerance_s = 2.0
    apart = np.abs(np.subtract.outer(one, other))
    rows, columns = linear_sum_assignment(np.where(apart <= tolerance_s, apart - 1000.0, 0.0))
    best = [apart[r, c] for r, c in zip(rows, columns, strict=True) if apart[r, c] <= tolerance_s]
    ours = [
        abs(pair.one.time_s - pair.other.time_s)
        for pair in match_marks([Mark(t, "a") for t in one], [Mark(t, "b") for t in other], tolerance_s)
        if pair.one and pair.other
    ]
    assert len(ours) == len(best)
    assert sum(ours) == pytest.approx(sum(best))
