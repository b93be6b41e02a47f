import math

import numpy as np

from pupilage.core.incidents.stretches import both, hours_of
from pupilage.core.simulation.planted import RATIO, draw_stay, find_planted


def test_same_seed_draws_the_same_stay():
    assert draw_stay(np.random.default_rng(4), RATIO) == draw_stay(np.random.default_rng(4), RATIO)


def test_incidents_come_so_many_times_as_often_with_the_cause():
    rng = np.random.default_rng(8)
    n_with = n_all = 0
    expected = variance = 0.0
    for _ in range(60):
        stay = draw_stay(rng, RATIO)
        table = next(s for s in stay.suspects() if s.key == stay.cause)
        n_with, n_all = n_with + table.n, n_all + table.n_all
        hours = _share_of_time(stay)
        p = RATIO * hours / (RATIO * hours + 1.0 - hours)
        expected, variance = expected + p * table.n_all, variance + p * (1 - p) * table.n_all
    assert abs(n_with - expected) < 4 * math.sqrt(variance)


def _share_of_time(stay):
    return hours_of(both(stay.free, stay.present[stay.cause])) / hours_of(stay.free)


def test_planted_causes_are_found_and_none_is_made_up():
    found = find_planted(60, seed=2)
    assert found.n_led >= 0.9 * found.n_enough - 4 * math.sqrt(0.09 * found.n_enough)
    assert found.n_called <= 0.05 * found.n_none + 4 * math.sqrt(0.0475 * found.n_none)
