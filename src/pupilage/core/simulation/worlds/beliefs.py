"""What can be believed of many dogs at once: an exact grid over today's skill, learning rate and half-life.

The engine's three ways of learning, and a fourth for dogs like none of them (a skill that drifts and wanders), times
two laws of forgetting, side by side; one weight a model for the dog, the forms of the day carried apart until the
night. Unlike in the engine's own grid (`core.training.grid`) the random growth of the half-life is followed as it is,
a step longer with chance 0.06 k after a block with k met, and the coordinates are those of the value tables, so that a
value is a dot product. Answers' latencies are a second channel: log-normal about the dog's own pace, which is learnt
along the way. Checked in tests/unit/simulation/test_beliefs.py.
"""

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from pupilage.core.simulation.worlds.kennel import LATENCY_SD, LATENCY_SLOPE
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import (
    BLOCK,
    N_BEHAVIOURS,
    N_DAYS,
    N_LEVELS,
    N_RATES,
    N_STRETCHES,
    SPACINGS,
    Whole,
    World,
)
from pupilage.core.simulation.worlds.season import Outcomes
from pupilage.core.simulation.worlds.spreading import spread
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, FORMS
from pupilage.core.training.worth.moves import N_SKILLS, drifted

Small = NDArray[np.float32]
At = tuple[NDArray[np.integer[Any]], NDArray[np.integer[Any]]]

STRIDE = 2
"""The filter keeps every second skill of the value tables: a fifth of a logit apart."""

N_LAWS, N_SKILL_FAMILIES = 2, 3
N_SKILL_MODELS = N_SKILL_FAMILIES * N_LAWS
N_MODELS = N_SKILL_MODELS + N_LAWS
N_FORMS = len(FORMS)
START_WEIGHTS = np.array([0.1, 0.55, 0.25, 0.1] + [0.0] * (N_STRETCHES - 4))
"""Of the half-life at the start: a step of 1.8 below the regime's own, its own, one and two above."""

PACE_MEAN, PACE_VARIANCE = 0.4, 0.09
"""Log seconds at even odds, over dogs: what is believed before a dog's first answer."""

WANDER_SD = 0.2
"""Noise of a block in logits, of a skill that wanders."""

MORE_THAN_CERTAIN = -60.0
TINY = np.float32(1e-30)


def skill_grid(world: World) -> Array:
    """Return the skills of the filter, in logits."""
    base = world.regime.base
    return np.linspace(base - learners.SKILL_BELOW_BASE, learners.SKILL_TOP, N_SKILLS)[::STRIDE]


def mastered_at_start(world: World, spacing: float) -> Array:
    """Return the chance of 0 … 6 mastered levels: those whose difficulty a first skill covers."""
    edges = (np.arange(1, N_LEVELS + 1) - 0.5) * spacing
    below = ndtr((edges - world.regime.skill_mean) / world.regime.skill_sd)
    return np.diff(np.concatenate(([0.0], below, [1.0])))


def skill_at_start(world: World) -> Array:
    """Return the weights of the first skill on the grid; what lies below the grid counts for its first point."""
    grid = skill_grid(world)
    edges = (grid[1:] + grid[:-1]) / 2.0
    below = ndtr((edges - world.regime.skill_mean) / world.regime.skill_sd)
    return np.diff(np.concatenate(([0.0], below, [1.0])))


class Beliefs:
    """The posterior of N dogs with B behaviours.

    skills (N, B, 3 forms, 3 kinds, rates, 2 laws, half-lives, S) and mastery (N, B, 3, 2 laws, rates, half-lives,
    L + 1), normalised for every form and model; where `apart` (N, B) is false only the first form is kept, for all.
    evidence (N, B, 3, 8) log, of today; log_models (N, 8); days_since (N, B).
    """

    def __init__(self, world: World, n: int, spacing_index: Whole) -> None:
        self.world, self.n, self.spacing_index = world, n, spacing_index
        self.grid = skill_grid(world)
        self.spacing = np.asarray(SPACINGS, dtype=np.float32)[spacing_index]
        size = (n, N_BEHAVIOURS)
        lives = START_WEIGHTS[:, None] / N_RATES
        start = np.broadcast_to(lives * skill_at_start(world), (N_RATES, N_LAWS, N_STRETCHES, len(self.grid)))
        self.skills: Small = np.empty((*size, N_FORMS, N_SKILL_FAMILIES, *start.shape), dtype=np.float32)
        self.skills[:, :, 0] = start
        levels = np.stack([mastered_at_start(world, spacing) for spacing in SPACINGS])[spacing_index]
        self.mastery: Small = np.empty((*size, N_FORMS, N_LAWS, N_RATES, *lives.shape[:1], N_LEVELS + 1), np.float32)
        self.mastery[:, :, 0] = lives * levels[:, :, None, None, None, :]
        self.apart = np.zeros(size, dtype=bool)
        self.evidence = np.zeros((*size, N_FORMS, N_MODELS))
        self.log_models = np.zeros((n, N_MODELS))
        self.days_since: Whole = np.zeros(size, dtype=np.int64)
        self.pace_mean, self.pace_variance = np.full(n, PACE_MEAN), np.full(n, PACE_VARIANCE)

    def joint(self) -> Array:
        """Return the weight of every form and model (N, 3, 8), adding up to 1 for a dog."""
        log_joint = self.log_models[:, None, :] + np.log(FORM_WEIGHTS)[:, None] + self.evidence.sum(1)
        joint = np.exp(log_joint - log_joint.max((1, 2), keepdims=True))
        weights: Array = joint / joint.sum((1, 2), keepdims=True)
        return weights

    def observe(self, outcomes: Outcomes) -> None:
        """Take in a block: its evidence, then what it taught."""
        if not len(outcomes.rows):
            return
        at = (outcomes.rows, outcomes.behaviour)
        self._part(at)
        p, p_level = self.chances(at, outcomes.level, outcomes.tired)
        skills, mastery = self._weigh(at, outcomes, p, p_level)
        self._learn(at, outcomes, p, skills)
        self._master(outcomes.level, mastery)
        for mass, axis in ((skills, -2), (mastery, -2)):
            grow(mass, axis, outcomes.n_met)
        self.skills[at], self.mastery[at] = skills, mastery
        self.days_since[at] = 0

    def _part(self, at: At) -> None:
        """Carry the forms apart from a behaviour's first block of the day on."""
        new = ~self.apart[at]
        fresh = (at[0][new], at[1][new])
        for mass in (self.skills, self.mastery):
            for form in range(1, N_FORMS):
                mass[(*fresh, form)] = mass[(*fresh, 0)]
        self.apart[fresh] = True

    def chances(self, at: At, level: Whole, tired: Array) -> tuple[Small, Array]:
        """Return the chance of a trial by form for every skill (n, 3, S) and number of levels (n, 3, L + 1)."""
        ease = self.grid + FORMS[:, None] + (tired - level * self.spacing[at])[:, None, None]
        p = self.world.guess + (1.0 - self.world.guess - self.world.lapse) / (1.0 + np.exp(-ease))
        gap = level[:, None, None] - np.arange(N_LEVELS + 1)
        guess = np.maximum(learners.GUESS, learners.BKT_GUESS - learners.BKT_GUESS_FALL * np.maximum(gap, 0))
        by_level = np.where(gap < 0, 1.0 - learners.BKT_SLIP, guess)
        odds = np.exp(-(FORMS[:, None] + tired[:, None, None])) * (1.0 / by_level - 1.0)
        return p.astype(np.float32), 1.0 / (1.0 + odds)

    def predicted(self, at: At, tired: Array) -> Array:
        """Return the chance of the next trial at every level (n, L), averaged over all that is believed."""
        joint = self.joint()[at[0]]
        skills, mastery = (
            np.where(self.apart[at].reshape(-1, *(1,) * (mass.ndim - 2)), mass[at], mass[at][:, :1])
            for mass in (self.skills, self.mastery)
        )
        by_skill = skills.sum((3, 5)).reshape(len(at[0]), N_FORMS, N_SKILL_MODELS, -1)
        marginal = np.einsum("nfm,nfms->nfs", joint[:, :, :N_SKILL_MODELS], by_skill)
        by_level = np.einsum("nfm,nfms->nfs", joint[:, :, N_SKILL_MODELS:], mastery.sum((3, 4)))
        expected = np.empty((len(at[0]), N_LEVELS))
        for level in range(N_LEVELS):
            p, p_level = self.chances(at, np.full(len(at[0]), level), tired)
            expected[:, level] = np.einsum("nfs,nfs->n", marginal, p) + np.einsum("nfs,nfs->n", by_level, p_level)
        return expected

    def kinds(self) -> Array:
        """Return the weight (N, 4) of every way of learning: toward level, per success, wandering, by levels."""
        return np.asarray(self.joint().sum(1).reshape(self.n, -1, N_LAWS).sum(2))

    def _weigh(self, at: At, outcomes: Outcomes, p: Small, p_level: Array) -> tuple[Small, Small]:
        """Return the cells after the block's evidence, which the weights of forms and models take in."""
        k = outcomes.n_met.astype(np.float32)[:, None, None]
        likelihood, level_likelihood = _binomial(p, k), _binomial(p_level, k)
        timed = Timed.of(outcomes, self.pace_mean, self.pace_variance)
        likelihood *= timed.likelihood(p)
        level_likelihood *= timed.likelihood(p_level)
        skills, mastery = np.maximum(self.skills[at], np.float32(0.0)), self.mastery[at]
        skills *= likelihood[:, :, None, None, None, None, :]
        mastery *= level_likelihood[:, :, None, None, None, :].astype(np.float32)
        by_skill = skills.sum((3, 5))
        mass = np.maximum(by_skill.sum(-1), TINY)
        by_level = mastery.sum((-3, -2))
        level_mass = np.maximum(by_level.sum(-1), TINY)
        skills /= mass[:, :, :, None, :, None, None]
        mastery /= level_mass[..., None, None, None]
        both = np.concatenate((mass.reshape(*mass.shape[:2], N_SKILL_MODELS), level_mass), axis=-1)
        self.evidence[at] += np.log(both)
        if timed.has.any():
            joint = self.joint()[at[0]]
            parts = (by_skill / mass[..., None]).reshape(*mass.shape[:2], N_SKILL_MODELS, -1)
            marginal = np.einsum("nfm,nfms->nfs", joint[:, :, :N_SKILL_MODELS], parts)
            level_marginal = np.einsum("nfm,nfms->nfs", joint[:, :, N_SKILL_MODELS:], by_level / level_mass[..., None])
            self._pace(outcomes.rows, timed, moments((_ease(p), marginal), (_ease(p_level), level_marginal)))
        return skills, mastery

    def _pace(self, rows: Whole, timed: "Timed", ease: tuple[Array, Array]) -> None:
        """Learn the dog's pace from the block: a normal update, what is not known of the ease added to the noise."""
        seen = timed.mean_log + LATENCY_SLOPE * ease[0]
        spread_ = timed.noise + LATENCY_SLOPE**2 * ease[1]
        before, mean = self.pace_variance[rows], self.pace_mean[rows]
        gain = np.where(timed.has, before / (before + spread_), 0.0)
        self.pace_mean[rows] = mean + gain * (seen - mean)
        self.pace_variance[rows] = before * (1.0 - gain)

    @cached_property
    def _toward_level(self) -> Small:
        """Where a block takes a skill: (spacings, levels, n met, rates, S, S)."""
        spacing, level, n_met = np.meshgrid(SPACINGS, np.arange(N_LEVELS), np.arange(BLOCK + 1.0), indexing="ij")
        delta, k = (spacing * level)[..., None, None], n_met[..., None, None]
        rate = self.world.regime.rates[:, None]
        points = learners.learn_toward_level(self.grid, rate, delta, BLOCK, k, self.world.regime.base)
        return spread(self.grid, points)

    @cached_property
    def _wandering(self) -> Small:
        """Where a block takes a skill that nobody knows the law of: (rates, S, S), drift and noise."""
        base, rates = self.world.regime.base, self.world.regime.rates[:, None]
        drift = spread(self.grid, drifted(self.grid, rates, base))
        gaps = (self.grid[:, None] - self.grid) / WANDER_SD
        noise = np.exp(-0.5 * np.square(gaps))
        return np.asarray(drift @ (noise / noise.sum(1, keepdims=True)), dtype=np.float32)

    def _learn(self, at: At, outcomes: Outcomes, p: Small, skills: Small) -> None:
        """Move the skills (n, 3, 3 kinds, rates, 2 laws, half-lives, S) in place by what the block taught."""
        shape = skills[:, :, 0].shape
        flat = (*shape[:3], shape[3] * shape[4], shape[5])
        moves = self._toward_level[self.spacing_index[at], outcomes.level, outcomes.n_met]
        skills[:, :, 0] = (skills[:, :, 0].reshape(flat) @ moves[:, None]).reshape(shape)
        rate = self.world.regime.rates.astype(np.float32)[:, None]
        k = outcomes.n_met.astype(np.float32)[:, None, None, None]
        points = learners.learn_at_chance(
            self.grid.astype(np.float32), rate, p[:, :, None, :], BLOCK, k, self.world.regime.base
        )
        skills[:, :, 1] = (skills[:, :, 1].reshape(flat) @ spread(self.grid, points)).reshape(shape)
        skills[:, :, 2] = (skills[:, :, 2].reshape(flat) @ self._wandering).reshape(shape)

    def _master(self, level: Whole, mastery: Small) -> None:
        up = learners.p_step_up(self.world.regime.rates, BLOCK).astype(np.float32)[:, None]
        each = np.arange(len(level))
        moved = mastery[each, ..., level] * up
        mastery[each, ..., level] -= moved
        mastery[each, ..., level + 1] += moved

    def night(self) -> None:
        """Sum over the day's form and let the night take its part."""
        joint = self.joint()
        with_models = joint.sum(1)
        forms = (joint / np.maximum(with_models, 1e-300)[:, None, :]).astype(np.float32)
        self.log_models = np.maximum(np.log(np.maximum(with_models, 1e-300)), MORE_THAN_CERTAIN)
        rows, behaviours = np.nonzero(self.apart)
        at = (rows, behaviours)
        by_skill = forms[rows, :, :N_SKILL_MODELS].reshape(-1, N_FORMS, N_SKILL_FAMILIES, 1, N_LAWS, 1, 1)
        by_level = forms[rows, :, N_SKILL_MODELS:].reshape(-1, N_FORMS, N_LAWS, 1, 1, 1)
        self.skills[rows, behaviours, 0] = (self.skills[at] * by_skill).sum(1)
        self.mastery[rows, behaviours, 0] = (self.mastery[at] * by_level).sum(1)
        self.apart[:] = False
        self.evidence[:] = 0.0
        for since in np.unique(self.days_since):
            rows, behaviours = np.nonzero(self.days_since == since)
            self._forget((rows, behaviours), int(since))
        self.days_since += 1

    @cached_property
    def _kept(self) -> Array:
        """The share of skill above the base that a night leaves: (days since practice, 2 laws, half-lives)."""
        own = self.world.regime.half_lives
        since = np.arange(N_DAYS + 1.0)[:, None]
        power = (own + since) / (own + since + 1.0)
        return np.stack((np.broadcast_to(np.exp2(-1.0 / own), power.shape), power), axis=1)

    @cached_property
    def _nights(self) -> Small:
        """Where a night takes a skill: (days since practice, 2 laws, half-lives, S, S)."""
        base = self.world.regime.base
        return spread(self.grid, base + (self.grid - base) * self._kept[..., None])

    def _forget(self, at: At, since: int) -> None:
        skills = self.skills[(*at, 0)]
        for law in range(N_LAWS):
            for life in range(N_STRETCHES):
                skills[:, :, :, law, life] = skills[:, :, :, law, life] @ self._nights[since, law, life]
        self.skills[(*at, 0)] = skills
        mastery = self.mastery[(*at, 0)]
        lost = mastery[..., 1:] * (1.0 - self._kept[since])[:, None, :, None].astype(np.float32)
        mastery[..., 1:] -= lost
        mastery[..., :-1] += lost
        self.mastery[(*at, 0)] = mastery


class Timed:
    """The answers' latencies of a block, as a mean log and its noise; `has` (n,) where there was an answer."""

    def __init__(self, has: NDArray[np.bool_], mean_log: Array, noise: Array, middle: Array, scale: Array) -> None:
        self.has, self.mean_log, self.noise, self.middle, self.scale = has, mean_log, noise, middle, scale

    @classmethod
    def of(cls, outcomes: Outcomes, pace_mean: Array, pace_variance: Array) -> "Timed":
        """Return the latencies of a block beside what is believed of each dog's pace (N,)."""
        timed = np.isfinite(outcomes.latency_s)
        n_timed = np.maximum(1, timed.sum(1))
        mean_log = np.where(timed, np.log(np.where(timed, outcomes.latency_s, 1.0)), 0.0).sum(1) / n_timed
        noise, has = LATENCY_SD**2 / n_timed, np.asarray(timed.any(1))
        scale = np.where(has, 0.5 / (pace_variance[outcomes.rows] + noise), 0.0)
        return cls(has, mean_log, noise, mean_log - pace_mean[outcomes.rows], scale)

    def likelihood(self, p: Array) -> Array:
        """Return the likelihood of the mean log latency at chances (n, 3, cells), its constant left out."""
        gap = self.middle[:, None, None] + LATENCY_SLOPE * _ease(p)
        value: Array = np.exp(-self.scale[:, None, None] * np.square(gap))
        return value.astype(p.dtype)


def grow(mass: Small, axis: int, n_met: Whole) -> None:
    """Let half-lives (along `axis`, the last but one) grow a step, in place, with chance 0.06 a met trial."""
    share = (learners.GROWTH_PER_HIT * n_met).astype(np.float32).reshape(-1, *(1,) * (mass.ndim - 1))
    moved = mass[..., :-1, :] * share
    mass[..., :-1, :] -= moved
    mass[..., 1:, :] += moved


def moments(*parts: tuple[Array, Array]) -> tuple[Array, Array]:
    """Return mean and variance (n,) of values (n, 3, cells) under weights that add up to 1 over all parts."""
    mean = sum(np.einsum("nfs,nfs->n", value, weight) for value, weight in parts)
    square = sum(np.einsum("nfs,nfs->n", np.square(value), weight) for value, weight in parts)
    return np.asarray(mean), np.maximum(0.0, np.asarray(square) - np.square(mean))


def _binomial(p: Array, k: Array) -> Array:
    """Return p^k (1 - p)^(5 - k), its coefficient left out."""
    value: Array = np.exp(k * np.log(p) + (BLOCK - k) * np.log1p(-p))
    return value


def _ease(p: Array) -> Array:
    ease: Array = np.log(p) - np.log1p(-np.minimum(p, p.dtype.type(0.995)))
    return ease
