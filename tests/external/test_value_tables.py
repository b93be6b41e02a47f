"""The value tables' moves and last mornings against SciPy's binomial law and the equations written out once more.

Sources: the equations and constants of docs/science/learners.md and retention.md, here as plain numbers, so that a
constant that drifts is found; scipy.stats.binom. float32 tables: 1e-5 of a logit or a chance.
"""

import numpy as np
import pytest
from scipy.special import expit
from scipy.stats import binom

from pupilage.core.training.posterior.learners import Family
from pupilage.core.training.worth import moves, session_tables
from pupilage.core.training.worth.session_tables import Ranges
from pupilage.core.training.worth.values import FamilyValues, Setting

DELTAS, RATES, BASE, FIRST_LIFE = (0.0, 0.8, 1.6), (0.05, 0.12), -0.4, 2.0
RANGES = Ranges(DELTAS, 1, RATES, FIRST_LIFE, BASE, 2)
FORMS = ((-0.6, 0.25), (0.0, 0.5), (0.6, 0.25))
N_MET = np.arange(6)
SKILLED = (Family.TOWARD_LEVEL, Family.PER_SUCCESS)


def chance(skill, delta, shift):
    return 0.02 + 0.96 * expit(skill - delta + shift)


def learned(family, skill, rate, delta, p):
    """Return the skill after 0 … 5 met of five."""
    if family is Family.TOWARD_LEVEL:
        gain = (1.0 - (1.0 - rate) ** N_MET) * max(0.0, delta + 2.2 - skill)
    else:
        gain = 1.6 * rate * N_MET * np.exp(-(((p - 0.75) / 0.22) ** 2))
    return np.clip(skill + gain - 0.02 * (5 - N_MET), -0.9, 6.5)


def after_block(family, skill, rate, delta, shifts):
    """Return the mean skill after a block, the chance of a longer half-life, and their product's mean."""
    mean = grows = both = 0.0
    for shift, weight in shifts:
        p = chance(skill, delta, shift)
        law = weight * binom(5, p).pmf(N_MET)
        skills = learned(family, skill, rate, delta, p)
        mean, grows, both = mean + law @ skills, grows + law @ (0.06 * N_MET), both + law @ (0.06 * N_MET * skills)
    return mean, grows, both


@pytest.mark.parametrize("family", SKILLED)
@pytest.mark.parametrize("tired", [0.0, -0.15])
def test_block_of_the_coarse_tables_takes_a_skill_where_the_equations_do(family, tired):
    found = session_tables.block_moves(RANGES, family, tired)
    states = RANGES.states(family)
    shifts = [(form + tired, weight) for form, weight in FORMS]
    for r, rate in enumerate(RATES):
        for level, delta in enumerate(DELTAS):
            for i in range(3, 20, 4):
                row = found[r, level, i].astype(float)
                stays, longer = row[: len(states)], row[len(states) :]
                mean, grows, both = after_block(family, states[i], rate, delta, shifts)
                assert stays @ states + longer @ states == pytest.approx(mean, abs=1e-5)
                assert longer.sum() == pytest.approx(grows, abs=1e-5)
                assert longer @ states == pytest.approx(both, abs=1e-5)


@pytest.mark.parametrize("family", SKILLED)
@pytest.mark.parametrize("form", [-0.6, 0.6])
def test_block_of_the_fine_tables_takes_a_skill_where_the_equations_do(family, form):
    course = moves.Course(family, RATES[1], DELTAS, (2.0, 3.6), BASE)
    found = moves.block_moves(course, form, -0.3).both
    for level, delta in enumerate(DELTAS):
        for i in range(5, 60, 11):
            row, skill = found[level, i].astype(float), course.states[i]
            mean, grows, _ = after_block(family, skill, RATES[1], delta, [(form - 0.3, 1.0)])
            halves = row.reshape(2, -1)
            assert halves.sum(0) @ course.states == pytest.approx(mean, abs=1e-5)
            assert halves[1].sum() == pytest.approx(grows, abs=1e-5)


def test_block_by_levels_masters_the_next_one_as_often_as_it_should():
    found = session_tables.block_moves(RANGES, Family.BY_LEVELS, 0.0)
    for r, rate in enumerate(RATES):
        for level in range(3):
            stays, longer = found[r, level, level].astype(float).reshape(2, -1)
            assert (stays + longer)[level + 1] == pytest.approx(1.0 - (1.0 - 1.3 * rate) ** 5, abs=1e-5)
            logit = np.log(0.40 / 0.60)
            p = sum(weight * expit(logit + form) for form, weight in FORMS)
            assert longer.sum() == pytest.approx(0.06 * 5.0 * p, abs=1e-5)


@pytest.mark.parametrize("family", SKILLED)
def test_night_leaves_what_the_half_life_leaves(family):
    coarse, fine = session_tables.night_moves(RANGES, family), moves.Course(family, 0.1, DELTAS, (2.0, 3.6), BASE)
    for n, half_life in enumerate(2.0 * 1.8 ** np.arange(7)):
        states = RANGES.states(family)
        assert coarse[n] @ states == pytest.approx(-0.4 + (states + 0.4) * 2.0 ** (-1.0 / half_life), abs=2e-5)
    found = moves.night_moves(fine)
    for n, half_life in enumerate((2.0, 3.6)):
        assert found[n] @ fine.states == pytest.approx(-0.4 + (fine.states + 0.4) * 2.0 ** (-1.0 / half_life), abs=2e-5)


@pytest.mark.parametrize("family", SKILLED)
def test_last_morning_is_the_binomial_chance_of_eight_of_ten(family):
    states = RANGES.states(family)
    expected = sum(weight * binom(10, chance(states, DELTAS[1], form)).sf(7) for form, weight in FORMS)
    coarse = session_tables.Tables(RANGES, family).mornings[-1]
    assert coarse == pytest.approx(np.broadcast_to(expected[None, :, None, None], coarse.shape), abs=1e-6)
    fine = FamilyValues(Setting(DELTAS, (1,), RATES, (2.0, 3.6), n_days=0), family, RATES[0])
    expected = sum(weight * binom(10, chance(fine.course.states, DELTAS[1], form)).sf(7) for form, weight in FORMS)
    assert fine.mornings[-1][:, 0, 0, 0] == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("family", SKILLED)
def test_day_before_the_test_is_the_best_of_none_one_and_two_sessions(family):
    # By the moves above, multiplied out in float64: blocks at the best step each, λ a session, the night, the test.
    tables = session_tables.Tables(RANGES, family)
    prices = (0.0, 0.005, 0.012, 0.022, 0.035, 0.055, 0.09, 0.15)
    night, test = session_tables.night_moves(RANGES, family).astype(float), tables.mornings[-1].astype(float)
    evening = np.einsum("hst,rtgh->rsgh", night, test)
    weary = ((0.0, -0.15), (-0.3, -0.45))

    def block(tired, after):
        moved = session_tables.block_moves(RANGES, family, tired).astype(float)
        longer = np.concatenate((after[..., 1:], after[..., -1:]), axis=-1)
        n = after.shape[1]
        stays = np.einsum("rlst,rtgh->rlsgh", moved[..., :n], after)
        return (stays + np.einsum("rlst,rtgh->rlsgh", moved[..., n:], longer)).max(1)

    value = evening
    for first, second in reversed(weary):
        value = np.maximum(evening, block(first, block(second, value)) - np.array(prices)[:, None])
    assert tables.mornings[-2] == pytest.approx(value, abs=2e-6)
