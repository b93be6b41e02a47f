"""Simulated dogs whose starts are timed: each learns one behaviour, its trainer raising and lowering by sets of five.

A world says what the seconds from cue to behaviour tell of how easy a try is. The dogs themselves, and their luck, are
those of `worlds` in the regime "mod"; a dog of one number is the same dog in every world.
"""

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.kennel import Kennel
from pupilage.core.simulation.worlds.regimes import (
    BLOCK,
    N_DAYS,
    N_LEVELS,
    SPACINGS,
    Truth,
    draw_chance,
    draw_dogs,
    world_of,
)
from pupilage.core.simulation.worlds.season import tiredness
from pupilage.core.training.outlook.course import BLOCKS_A_SESSION, MET_TO_LOWER, MET_TO_RAISE

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

START_SD = 0.45
"""Of the log seconds, about what a dog usually takes."""
DAY_SD = 0.25


class Starts(StrEnum):
    """What latencies tell in a world."""

    INFORM = "inform"
    INFORM_MUCH = "inform much"
    TELL_NOTHING = "tell nothing"
    WANDER = "tell nothing, and wander from day to day"


SLOPES = {Starts.INFORM: 0.22, Starts.INFORM_MUCH: 0.4, Starts.TELL_NOTHING: 0.0, Starts.WANDER: 0.0}
"""Log seconds by which a start comes sooner a logit of ease."""


@dataclass(frozen=True)
class TimedDogs:
    """The record of N dogs, two blocks of five a day: level, chance (N, days, 2); met, log_s (N, days, 2, 5).

    spacing (N,): logits a level; pace (N,): log seconds at even odds; chance is the true one of each try; log_s is NaN
    where a try was missed.
    """

    spacing: Floats
    pace: Floats
    level: NDArray[np.int64]
    chance: Floats
    met: Flags
    log_s: Floats


def watch_dogs(n: int, truth: Truth, starts: Starts, *, seed: int) -> TimedDogs:
    """Return the record of n dogs of a family. Deterministic for a seed."""
    rng = np.random.default_rng((seed, list(Truth).index(truth)))
    world = replace(world_of("mod", truth), p_missed=0.0, prerequisites=())
    dogs, luck = draw_dogs(world, n, rng), draw_chance(world, n, rng)
    kennel = Kennel(world, dogs, luck)
    days = DAY_SD * rng.standard_normal((n, N_DAYS)) if starts is Starts.WANDER else np.zeros((n, N_DAYS))
    rows, first, level = np.arange(n), np.zeros(n, dtype=np.int64), np.zeros(n, dtype=np.int64)
    levels = np.zeros((n, N_DAYS, BLOCKS_A_SESSION), dtype=np.int64)
    chance, met = np.zeros(levels.shape), np.zeros((*levels.shape, BLOCK), dtype=bool)
    for day in range(N_DAYS):
        for block in range(BLOCKS_A_SESSION):
            at, form, tired = (slice(None), day, block), luck.form[:, day], tiredness(block, first, first)
            levels[at], chance[at] = level, kennel.p(rows, first, level, form=form, tired=tired)
            met[at], _ = kennel.train(rows, first, level, form=form, tired=tired)
            n_met = met[at].sum(-1)
            level = np.clip(level + (n_met >= MET_TO_RAISE) - (n_met <= MET_TO_LOWER), 0, N_LEVELS - 1)
        kennel.overnight(day)
    ease: Floats = np.log(chance) - np.log1p(-np.minimum(chance, 0.995))
    middle: Floats = dogs.pace[:, None, None] - SLOPES[starts] * ease + days[:, :, None]
    log_s = middle[..., None] + START_SD * luck.latency[:, 0, : 2 * N_DAYS].reshape(met.shape)
    spacing = np.asarray(SPACINGS)[dogs.spacing_index[:, 0]]
    pace = np.asarray(dogs.pace, dtype=np.float64)
    return TimedDogs(spacing, pace, levels, chance, met, np.asarray(np.where(met, log_s, np.nan)))
