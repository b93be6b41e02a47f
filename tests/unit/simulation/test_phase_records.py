"""Simulated phases: what is named in a known world, within what chance allows."""

from math import sqrt

import pytest

from pupilage.core.simulation.phase_records import WORLDS, name_patterns

N = 300
SURE = 4.0
"""Standard errors: none of these tests is a lottery ticket."""


def most(p):
    return p + SURE * sqrt(p * (1 - p) / N)


def world(start):
    return next(one for one in WORLDS if one.name.startswith(start))


@pytest.mark.parametrize("name", ["nothing changes", "nothing changes, begun on bad days", "seldom (one in two days)"])
def test_where_nothing_changes_little_is_named(name):
    found = name_patterns(world(name), N, seed=7)
    assert found.fallen / N < most(0.05)
    assert found.ever_fallen / N < most(0.07)
    assert found.rise / N < most(0.06)
    assert found.burst + found.still_up <= most(0.06) * N
    assert found.returned / N < most(0.05)


def test_days_that_differ_are_named_a_little_more_often_and_no_fall_is_made_of_them():
    found = name_patterns(world("nothing changes, days differ"), N, seed=7)
    assert found.fallen / N < most(0.05)
    assert found.rise / N < most(0.12)


def test_planted_bursts_and_falls_are_found():
    assert name_patterns(world("three times for three days"), N, seed=7).burst / N > 0.85
    assert name_patterns(world("a quarter from the first day"), N, seed=7).fallen / N > 0.9


def test_same_seed_gives_the_same_records():
    assert name_patterns(WORLDS[0], 20, seed=3) == name_patterns(WORLDS[0], 20, seed=3)
