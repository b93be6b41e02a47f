"""Where a block and a night take what is believed: mass moved between the cells of `cells`, in place.

Skills (n, 3 forms, 3 kinds, rates, 2 laws, half-lives, S); masteries (n, 3 forms, 2 laws, rates, half-lives, L + 1).
"""

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.cells import N_LAWS, skill_grid
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import BLOCK, N_DAYS, N_LEVELS, N_STRETCHES, SPACINGS, Whole, World
from pupilage.core.simulation.worlds.spreading import spread
from pupilage.core.training.posterior import learners
from pupilage.core.training.worth.moves import drifted

Small = NDArray[np.float32]

WANDER_SD = 0.2
"""Noise of a block in logits, of a skill that wanders."""


class Movements:
    """The moves of one world, worked out when first asked for."""

    def __init__(self, world: World) -> None:
        self.regime, self.grid = world.regime, skill_grid(world)

    @cached_property
    def _toward_level(self) -> Small:
        """Where a block takes a skill: (spacings, levels, n met, rates, S, S)."""
        spacing, level, n_met = np.meshgrid(SPACINGS, np.arange(N_LEVELS), np.arange(BLOCK + 1.0), indexing="ij")
        delta, k = (spacing * level)[..., None, None], n_met[..., None, None]
        rate = self.regime.rates[:, None]
        return spread(self.grid, learners.learn_toward_level(self.grid, rate, delta, BLOCK, k, self.regime.base))

    @cached_property
    def _wandering(self) -> Small:
        """Where a block takes a skill that nobody knows the law of: (rates, S, S), drift and noise."""
        drift = spread(self.grid, drifted(self.grid, self.regime.rates[:, None], self.regime.base))
        noise = np.exp(-0.5 * np.square((self.grid[:, None] - self.grid) / WANDER_SD))
        return np.asarray(drift @ (noise / noise.sum(1, keepdims=True)), dtype=np.float32)

    def _per_success(self, p: Small, n_met: Whole) -> Small:
        """Where a block met with chances p (n, 3, S) takes a skill: (n, 3, rates, S, S)."""
        grid, rate = self.grid.astype(np.float32), self.regime.rates.astype(np.float32)[:, None]
        k = n_met.astype(np.float32)[:, None, None, None]
        return spread(self.grid, learners.learn_at_chance(grid, rate, p[:, :, None, :], BLOCK, k, self.regime.base))

    def teach(self, skills: Small, p: Small, n_met: Whole, *, spacing_index: Whole, level: Whole) -> None:
        """Move the skills by what a block at a level taught, which was met with chances p (n, 3, S)."""
        shape = skills[:, :, 0].shape
        flat = (*shape[:3], shape[3] * shape[4], shape[5])
        toward = self._toward_level[spacing_index, level, n_met][:, None]
        for kind, moves in enumerate((toward, self._per_success(p, n_met), self._wandering)):
            skills[:, :, kind] = (skills[:, :, kind].reshape(flat) @ moves).reshape(shape)

    def master(self, mastery: Small, level: Whole) -> None:
        """Move the masteries by what a block at a level taught."""
        up = learners.p_step_up(self.regime.rates, BLOCK).astype(np.float32)[:, None]
        each = np.arange(len(level))
        moved = mastery[each, ..., level] * up
        mastery[each, ..., level] -= moved
        mastery[each, ..., level + 1] += moved

    @cached_property
    def _kept(self) -> Array:
        """The share of skill above the base that a night leaves: (days since practice, 2 laws, half-lives)."""
        own = self.regime.half_lives
        since = np.arange(N_DAYS + 1.0)[:, None]
        power = (own + since) / (own + since + 1.0)
        return np.stack((np.broadcast_to(np.exp2(-1.0 / own), power.shape), power), axis=1)

    @cached_property
    def _nights(self) -> Small:
        """Where a night takes a skill: (days since practice, 2 laws, half-lives, S, S)."""
        base = self.regime.base
        return spread(self.grid, base + (self.grid - base) * self._kept[..., None])

    def forget(self, skills: Small, mastery: Small, since: int) -> None:
        """Let a night pass, `since` days after practice; the axis of forms is gone."""
        for law in range(N_LAWS):
            for life in range(N_STRETCHES):
                skills[:, :, :, law, life] = skills[:, :, :, law, life] @ self._nights[since, law, life]
        lost = mastery[..., 1:] * (1.0 - self._kept[since])[:, None, :, None].astype(np.float32)
        mastery[..., 1:] -= lost
        mastery[..., :-1] += lost


def grow(mass: Small, n_met: Whole) -> None:
    """Let half-lives (the last axis but one) grow a step, in place, with chance 0.06 a met trial."""
    share = (learners.GROWTH_PER_HIT * n_met).astype(np.float32).reshape(-1, *(1,) * (mass.ndim - 1))
    moved = mass[..., :-1, :] * share
    mass[..., :-1, :] -= moved
    mass[..., 1:, :] += moved
