"""What can be believed of many dogs at once: an exact grid over today's skill, learning rate and half-life.

The engine's three ways of learning, and a fourth for dogs like none of them (a skill that drifts and wanders), times
two laws of forgetting, side by side; one weight a model for the dog, the forms of the day carried apart until the
night. Unlike in the engine's own grid (`core.training.posterior.grid`) the random growth of the half-life is followed
as it is, a step longer with chance 0.06 k after a block with k met, and the coordinates are those of the value tables,
so that a value is a dot product. Checked in tests/unit/simulation/test_beliefs.py.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.simulation.worlds.cells import (
    N_LAWS,
    N_MODELS,
    N_SKILL_FAMILIES,
    N_SKILL_MODELS,
    levels_at_start,
    skill_grid,
    skills_at_start,
)
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.movements import Movements, grow
from pupilage.core.simulation.worlds.pace import Pace, ease, moments
from pupilage.core.simulation.worlds.regimes import BLOCK, N_BEHAVIOURS, N_LEVELS, SPACINGS, Whole, World
from pupilage.core.simulation.worlds.season import Outcomes
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, FORMS

Small = NDArray[np.float32]
At = tuple[NDArray[np.integer[Any]], NDArray[np.integer[Any]]]

N_FORMS = len(FORMS)
MORE_THAN_CERTAIN = -60.0
TINY = np.float32(1e-30)


class Beliefs:
    """The posterior of N dogs with B behaviours.

    skills (N, B, 3 forms, 3 kinds, rates, 2 laws, half-lives, S) and mastery (N, B, 3, 2 laws, rates, half-lives,
    L + 1), normalised for every form and model; where `apart` (N, B) is false only the first form is kept, for all.
    evidence (N, B, 3, 8) log, of today; log_models (N, 8); days_since (N, B).
    """

    def __init__(self, world: World, n: int, spacing_index: Whole) -> None:
        self.world, self.n, self.spacing_index = world, n, spacing_index
        self.grid, self.movements, self.pace = skill_grid(world), Movements(world), Pace(n)
        self.spacing = np.asarray(SPACINGS, dtype=np.float32)[spacing_index]
        size = (n, N_BEHAVIOURS)
        by_rate, *rest = skills_at_start(world).shape
        self.skills: Small = np.empty((*size, N_FORMS, N_SKILL_FAMILIES, by_rate, N_LAWS, *rest), dtype=np.float32)
        self.skills[:, :, 0] = skills_at_start(world)[:, None]
        levels = np.stack([levels_at_start(world, spacing) for spacing in SPACINGS])[spacing_index]
        self.mastery: Small = np.empty((*size, N_FORMS, N_LAWS, *levels.shape[2:]), dtype=np.float32)
        self.mastery[:, :, 0] = levels[:, :, None]
        self.apart = np.zeros(size, dtype=bool)
        self.evidence = np.zeros((*size, N_FORMS, N_MODELS))
        self.log_models = np.zeros((n, N_MODELS))
        self.days_since: Whole = np.zeros(size, dtype=np.int64)

    def joint(self) -> Array:
        """Return the weight of every form and model (N, 3, 8), adding up to 1 for a dog."""
        log_joint = self.log_models[:, None, :] + np.log(FORM_WEIGHTS)[:, None] + self.evidence.sum(1)
        joint = np.exp(log_joint - log_joint.max((1, 2), keepdims=True))
        weights: Array = joint / joint.sum((1, 2), keepdims=True)
        return weights

    def kinds(self) -> Array:
        """Return the weight (N, 4) of every way of learning: toward level, per success, wandering, by levels."""
        return np.asarray(self.joint().sum(1).reshape(self.n, -1, N_LAWS).sum(2))

    def chances(self, at: At, level: Whole, tired: Array) -> tuple[Small, Array]:
        """Return the chance of a trial by form for every skill (n, 3, S) and number of levels (n, 3, L + 1)."""
        shift = self.grid + FORMS[:, None] + (tired - level * self.spacing[at])[:, None, None]
        p = self.world.guess + (1.0 - self.world.guess - self.world.lapse) / (1.0 + np.exp(-shift))
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
        by_skill, by_level = _over_models(joint, skills.sum((3, 5)), mastery.sum((3, 4)))
        expected = np.empty((len(at[0]), N_LEVELS))
        for level in range(N_LEVELS):
            p, p_level = self.chances(at, np.full(len(at[0]), level), tired)
            expected[:, level] = np.einsum("nfs,nfs->n", by_skill, p) + np.einsum("nfs,nfs->n", by_level, p_level)
        return expected

    def observe(self, outcomes: Outcomes) -> None:
        """Take in a block: its evidence, then what it taught."""
        if not len(outcomes.rows):
            return
        at = (outcomes.rows, outcomes.behaviour)
        self._part(at)
        p, p_level = self.chances(at, outcomes.level, outcomes.tired)
        skills, mastery = self._weigh(at, outcomes, p, p_level)
        spacing_index = self.spacing_index[at]
        self.movements.teach(skills, p, outcomes.n_met, spacing_index=spacing_index, level=outcomes.level)
        self.movements.master(mastery, outcomes.level)
        for mass in (skills, mastery):
            grow(mass, outcomes.n_met)
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

    def _weigh(self, at: At, outcomes: Outcomes, p: Small, p_level: Array) -> tuple[Small, Small]:
        """Return the cells after the block's evidence, which the weights of forms and models take in."""
        k = outcomes.n_met.astype(np.float32)[:, None, None]
        timed = self.pace.timed(outcomes)
        likelihood = _binomial(p, k) * timed.likelihood(p)
        level_likelihood = _binomial(p_level, k) * timed.likelihood(p_level)
        skills, mastery = np.maximum(self.skills[at], np.float32(0.0)), self.mastery[at]
        skills *= likelihood[:, :, None, None, None, None, :]
        mastery *= level_likelihood[:, :, None, None, None, :].astype(np.float32)
        by_skill, by_level = skills.sum((3, 5)), mastery.sum((-3, -2))
        mass, level_mass = (np.maximum(one.sum(-1), TINY) for one in (by_skill, by_level))
        skills /= mass[:, :, :, None, :, None, None]
        mastery /= level_mass[..., None, None, None]
        both = np.concatenate((mass.reshape(*mass.shape[:2], N_SKILL_MODELS), level_mass), axis=-1)
        self.evidence[at] += np.log(both)
        if timed.has.any():
            joint = self.joint()[at[0]]
            weights = _over_models(joint, by_skill / mass[..., None], by_level / level_mass[..., None])
            mean, variance = moments((ease(p), weights[0]), (ease(p_level), weights[1]))
            self.pace.learn(outcomes.rows, timed, mean, variance)
        return skills, mastery

    def night(self) -> None:
        """Sum over the day's form and let the night take its part."""
        joint = self.joint()
        with_models = joint.sum(1)
        forms = (joint / np.maximum(with_models, 1e-300)[:, None, :]).astype(np.float32)
        self.log_models = np.maximum(np.log(np.maximum(with_models, 1e-300)), MORE_THAN_CERTAIN)
        self._sum_forms(forms)
        self.evidence[:] = 0.0
        for since in np.unique(self.days_since):
            rows, behaviours = np.nonzero(self.days_since == since)
            skills, mastery = self.skills[rows, behaviours, 0], self.mastery[rows, behaviours, 0]
            self.movements.forget(skills, mastery, int(since))
            self.skills[rows, behaviours, 0], self.mastery[rows, behaviours, 0] = skills, mastery
        self.days_since += 1

    def _sum_forms(self, forms: Small) -> None:
        rows, behaviours = at = np.nonzero(self.apart)
        by_skill = forms[rows, :, :N_SKILL_MODELS].reshape(-1, N_FORMS, N_SKILL_FAMILIES, 1, N_LAWS, 1, 1)
        by_level = forms[rows, :, N_SKILL_MODELS:].reshape(-1, N_FORMS, N_LAWS, 1, 1, 1)
        self.skills[rows, behaviours, 0] = (self.skills[at] * by_skill).sum(1)
        self.mastery[rows, behaviours, 0] = (self.mastery[at] * by_level).sum(1)
        self.apart[:] = False


def _over_models(joint: Array, by_skill: Array, by_level: Array) -> tuple[Array, Array]:
    """Return the weights of skills (n, 3, S) and of mastered levels (n, 3, L + 1), all models together.

    by_skill (n, 3, 3 kinds, 2 laws, S), by_level (n, 3, 2 laws, L + 1), each adding up to 1 over its last axis.
    """
    flat = by_skill.reshape(*by_skill.shape[:2], N_SKILL_MODELS, -1)
    skills = np.einsum("nfm,nfms->nfs", joint[:, :, :N_SKILL_MODELS], flat)
    return skills, np.einsum("nfm,nfms->nfs", joint[:, :, N_SKILL_MODELS:], by_level)


def _binomial(p: Array, k: Array) -> Array:
    """Return p^k (1 - p)^(5 - k), its coefficient left out."""
    value: Array = np.exp(k * np.log(p) + (BLOCK - k) * np.log1p(-p))
    return value
