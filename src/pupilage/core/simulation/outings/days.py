"""Simulated days of pups: when each naps, eats and plays, on a grid of steps from the morning to the night."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.care.confinement import Trigger
from pupilage.core.care.toilet.curve import WINDOWS, Need
from pupilage.core.care.toilet.rates import Floats

STEP_MIN = 3.0
DAY_MIN = 960.0
N_STEPS = int(DAY_MIN / STEP_MIN)
NAP_STARTS_MIN = np.array([70.0, 220.0, 370.0, 520.0, 670.0, 820.0])
NAP_MIN = (45.0, 95.0)
MEALS_AFTER = (None, 1, 3, 5)
"""Four meals: in the morning, and after the second, fourth and sixth nap."""
PLAYS_AFTER = (0, 1, 2, 4)


@dataclass(frozen=True)
class Day:
    """A day of every pup, (steps, pups): asleep, how many times as high the hazard is, what has just ended."""

    resting: NDArray[np.bool_]
    times: Floats
    woke: NDArray[np.bool_]
    ate: NDArray[np.bool_]
    played: NDArray[np.bool_]


def draw_day(n_pups: int, rng: Generator) -> Day:
    """Return a day with six naps, four meals and four bouts of play for every pup, each at times of its own."""
    starts = NAP_STARTS_MIN + rng.uniform(-15.0, 15.0, (n_pups, 6))
    ends = starts + rng.uniform(*NAP_MIN, (n_pups, 6))
    meals = _after(ends, MEALS_AFTER, rng.uniform(6.0, 18.0, (n_pups, 4)))
    plays = _after(ends, PLAYS_AFTER, rng.uniform(20.0, 40.0, (n_pups, 4)))
    at = STEP_MIN * np.arange(N_STEPS)[:, None]
    resting = np.zeros((N_STEPS, n_pups), dtype=bool)
    for nap in range(6):
        resting |= (at >= starts[:, nap]) & (at < ends[:, nap])
    times = np.ones((N_STEPS, n_pups))
    for trigger, happened in ((Trigger.WOKE, ends), (Trigger.ATE, meals), (Trigger.PLAYED, plays)):
        lasts, factors = WINDOWS[trigger]
        times = np.where(_within(at, happened, lasts), times * factors[Need.WEE], times)
    times = np.where(resting, 1.0, times)
    return Day(resting, times, *(_within(at, one, STEP_MIN) for one in (ends, meals, plays)))


def _after(nap_ends: Floats, which: tuple[int | None, ...], later_min: Floats) -> Floats:
    begun = [np.zeros(len(nap_ends)) if nap is None else nap_ends[:, nap] for nap in which]
    return np.stack(begun, axis=1) + later_min


def _within(at: NDArray[Any], happened: NDArray[Any], minutes: float) -> NDArray[np.bool_]:
    found = np.zeros((len(at), len(happened)), dtype=bool)
    for column in happened.T:
        found |= (at >= column) & (at < column + minutes)
    return found
