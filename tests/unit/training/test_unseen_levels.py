"""Levels whose mastering nobody sees: values over beliefs, against exhaustive search over all that may be seen."""

from functools import cache

import numpy as np
import pytest

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Family
from pupilage.core.training.worth.moves import CHOOSE, chance_of_goal
from pupilage.core.training.worth.unseen_levels import UnseenLevels, lattice, onto_lattice
from pupilage.core.training.worth.values import TIRED_BLOCKS, FamilyValues, Setting

PRICE, RATE, LIFE, TARGET = 0.02, 0.25, 4.0, 1
ONE_DAY = Setting((0.0, 0.8), (TARGET,), (RATE,), (LIFE,), n_days=1, prices=(PRICE, 0.2))


def test_beliefs_keep_the_chance_of_every_number_of_levels_on_the_lattice():
    mass = np.random.default_rng(0).dirichlet(np.full(7, 0.3), size=(4, 5))
    on = onto_lattice(mass)
    assert (on >= 0.0).all()
    assert on @ lattice(6) == pytest.approx(mass, abs=1e-12)


def test_beliefs_of_the_lattice_stay_where_they_are():
    assert onto_lattice(lattice(3)) == pytest.approx(np.eye(len(lattice(3))), abs=1e-12)


def exact(start):
    """Return the value of a morning by trying every level after every outcome that may be seen; no tables."""
    kept = 2.0 ** (-1.0 / LIFE)
    course = ONE_DAY.course(Family.BY_LEVELS, RATE)
    test = chance_of_goal(course, (TARGET,))[:, 0]

    def evening(belief):
        lost = belief[1:] * (1.0 - kept)
        return float(test @ (belief - np.append(0.0, lost) + np.append(lost, 0.0)))

    @cache
    def chances(level, form, tired):
        return learners.p_met_by_levels(2, level, form=form, tired=tired)

    def block(belief, form, place):
        if place == 4:
            return evening(belief)
        stop = evening(belief) if place % 2 == 0 else -np.inf
        tired = TIRED_BLOCKS[place // 2][place % 2]
        best = max(trained(belief, level, form, place, tired) for level in (0, 1))
        return max(stop, best - PRICE * (place % 2 == 0))

    def trained(belief, level, form, place, tired):
        p, total = chances(level, form, tired), 0.0
        for n_met in range(6):
            seen = belief * CHOOSE[n_met] * p**n_met * (1.0 - p) ** (5 - n_met)
            mass = seen.sum()
            total += mass * block(learners.learn_by_levels(seen / mass, RATE, level, 5), form, place + 1)
        return total

    return sum(w * block(start, form, 0) for form, w in zip(learners.FORMS, learners.FORM_WEIGHTS, strict=True))


def test_value_lies_between_exhaustive_search_and_the_value_of_one_who_sees_all():
    belief = np.array([0.65, 0.35, 0.0])
    unseen = float(onto_lattice(belief) @ UnseenLevels(ONE_DAY, RATE).mornings[0, :, 0, 0, 0])
    sees_all = float(belief @ FamilyValues(ONE_DAY, Family.BY_LEVELS, RATE).mornings[0, :, 0, 0, 0])
    found = exact(belief)
    # Interpolation between beliefs can only raise a convex value (Lovejoy, 1991, from memory); 1e-5 for float32.
    assert found - 1e-5 <= unseen <= found + 0.004
    assert unseen < sees_all - 0.01
