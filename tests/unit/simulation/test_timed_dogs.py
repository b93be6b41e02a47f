"""Simulated dogs whose starts are timed: the same dogs in every world, and starts that tell what the world says."""

import numpy as np
import pytest

from pupilage.core.simulation.timed_dogs import DAY_SD, SLOPES, START_SD, Starts, watch_dogs
from pupilage.core.simulation.timed_reading import Reader, read_dogs
from pupilage.core.simulation.worlds.regimes import Truth

N = 60


@pytest.fixture(scope="module", params=list(Starts))
def watched(request):
    return request.param, watch_dogs(N, Truth.RW, request.param, seed=2)


def test_only_met_tries_have_a_latency(watched):
    _, dogs = watched
    assert np.array_equal(np.isfinite(dogs.log_s), dogs.met)


def test_dogs_and_their_luck_are_the_same_in_every_world(watched):
    _, dogs = watched
    other = watch_dogs(N, Truth.RW, Starts.INFORM, seed=2)
    assert np.array_equal(dogs.met, other.met)
    assert np.array_equal(dogs.chance, other.chance)


def test_starts_come_sooner_the_easier_the_try_by_the_world_s_slope(watched):
    starts, dogs = watched
    ease = np.broadcast_to(np.log(dogs.chance / (1.0 - dogs.chance))[..., None], dogs.met.shape)[dogs.met]
    late = (dogs.log_s - dogs.pace[:, None, None, None])[dogs.met]
    slope, _ = np.polyfit(ease, late, 1)
    # About 9,000 starts, ease spread by 1.2 logits: standard error 0.45 / (95 * 1.2) = 0.004; a day's wander adds as
    # much again. Four of both.
    assert slope == pytest.approx(-SLOPES[starts], abs=0.025)
    spread = np.hypot(START_SD, DAY_SD) if starts is Starts.WANDER else START_SD
    assert (late + SLOPES[starts] * ease).std() == pytest.approx(spread, rel=0.05)


def test_same_seed_gives_the_same_scores_and_fewer_tries_say_less():
    first, again, fewer = (
        read_dogs(4, reader, Starts.INFORM, seed=3) for reader in (Reader.LATENCIES, Reader.LATENCIES, Reader.FEWER)
    )
    assert np.array_equal(first.log_score, again.log_score)
    assert fewer.width.mean() > first.width.mean()
