"""The prior of a new dog from a trainer's earlier ones, by expectation and maximisation over their summaries.

It is the prior under which the earlier records are likeliest, held by a weak hyperprior to the one that ships.
Deterministic; docs/science/pooling.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.training.pooling.dog_summary import LEAST_WEIGHT, DogSummary, Earlier, lay_together
from pupilage.core.training.pooling.prior_shape import SHIPPED, WORTH_DOGS, Shape
from pupilage.core.training.posterior.grid import N_SKILL_MODELS
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.posterior.prior import OLD_HAND, Prior, normal_weights, shipped_prior

LEAST_SD = 0.1
N_ROUNDS = 200
ENOUGH = 1e-4
"""Rounds end when no mean, deviation (logits) or weight moves by more."""


@dataclass(frozen=True)
class _Bell:
    """A normal law on the cells of an axis: its mass, and the mean and mean square within each cell."""

    mass: Floats
    mean: Floats
    square: Floats


def _bell(axis: Floats, mean: float, sd: float) -> _Bell:
    from scipy.special import ndtr

    z = (np.concatenate(([-np.inf], (axis[1:] + axis[:-1]) / 2.0, [np.inf])) - mean) / sd
    density = np.exp(-0.5 * z**2) / np.sqrt(2.0 * np.pi)
    edge = np.where(np.isfinite(z), z, 0.0) * density
    mass = np.diff(ndtr(z))
    seen = np.maximum(mass, 1e-12)
    first, second = -np.diff(density) / seen, 1.0 - np.diff(edge) / seen
    far = mass < 1e-9  # so far out that the difference of two tails is all rounding
    within = np.where(far, axis, mean + sd * first)
    square = np.where(far, axis**2, mean**2 + 2.0 * mean * sd * first + sd**2 * second)
    return _Bell(np.asarray(normal_weights(axis, mean, sd)), within, square)


@dataclass(frozen=True)
class _Weights:
    """A shape's weights on the grid, and the share of each skill's that is the bell and not the even law."""

    skill_bell: _Bell
    skill: Floats
    rate_bell: _Bell
    half_life: Floats
    models: Floats

    @property
    def is_bell(self) -> Floats:
        return np.asarray((1.0 - OLD_HAND) * self.skill_bell.mass / self.skill)

    @property
    def cells(self) -> Floats:
        return np.asarray(np.einsum("i,j,k->ijk", self.skill, self.rate_bell.mass, self.half_life).ravel())

    @property
    def level_cells(self) -> Floats:
        return np.outer(self.rate_bell.mass, self.half_life).ravel()


def _weights(shape: Shape, grid: Prior) -> _Weights:
    skill = _bell(grid.skills, shape.skill_mean, shape.skill_sd)
    rate = _bell(np.log(grid.rates), shape.log_rate_mean, shape.log_rate_sd)
    mixed = (1.0 - OLD_HAND) * skill.mass + OLD_HAND / len(grid.skills)
    return _Weights(skill, mixed, rate, np.array(shape.half_lives), np.array(shape.models))


def _explained(earlier: Earlier, weights: _Weights) -> tuple[Floats, Floats]:
    """Return each row's evidence by model (N, 6), and each dog's log evidence (D, 6), model weights included."""
    by_skill = earlier.skill @ weights.cells.astype(np.float32)
    by_level = earlier.level @ weights.level_cells.astype(np.float32)
    rows = np.maximum(np.concatenate((by_skill, by_level), axis=1).astype(np.float64), 1e-30)
    dogs = earlier.log_models + np.log(np.maximum(weights.models, LEAST_WEIGHT))
    np.add.at(dogs, earlier.dog, np.log(rows))
    return rows, dogs


def log_evidence(earlier: Earlier, shape: Shape) -> Floats:
    """Return each dog's log evidence (D,) under a prior of this shape, up to a constant of the dog."""
    dogs = _explained(earlier, _weights(shape, earlier.grid))[1]
    highest = dogs.max(1)
    return np.asarray(highest + np.log(np.exp(dogs - highest[:, None]).sum(1)))


@dataclass(frozen=True)
class _Masses:
    """How much of the dogs lies where: a dog's behaviours count as one dog together."""

    skill: Floats
    rate: Floats
    half_life: Floats
    models: Floats


def _masses(earlier: Earlier, weights: _Weights) -> _Masses:
    rows, dogs = _explained(earlier, weights)
    kinds = np.exp(dogs - dogs.max(1, keepdims=True))
    kinds /= kinds.sum(1, keepdims=True)
    n_behaviours = np.bincount(earlier.dog, minlength=earlier.n_dogs)
    share = ((kinds / n_behaviours[:, None])[earlier.dog] / rows).astype(np.float32)
    by_skill, by_level = share[:, :N_SKILL_MODELS], share[:, N_SKILL_MODELS:]
    cells = weights.cells * (by_skill.ravel() @ earlier.skill.reshape(-1, earlier.skill.shape[-1]))
    level = weights.level_cells * (by_level.ravel() @ earlier.level.reshape(-1, earlier.level.shape[-1]))
    box = cells.reshape(len(weights.skill), len(weights.rate_bell.mass), -1)
    flat = level.reshape(len(weights.rate_bell.mass), -1)
    return _Masses(
        box.sum((1, 2)) * weights.is_bell, box.sum((0, 2)) + flat.sum(1), box.sum((0, 1)) + flat.sum(0), kinds.sum(0)
    )


def _moved(bell: _Bell, mass: Floats, centre: tuple[float, float], worth: float) -> tuple[float, float]:
    """Return mean and deviation of the mass together with `worth` dogs of the centre's mean and deviation."""
    mean, sd = centre
    total = worth + float(mass.sum())
    if total <= 0.0:
        return centre
    new = (worth * mean + float(mass @ bell.mean)) / total
    spread = float(mass @ (bell.square - 2.0 * new * bell.mean + new**2))
    square = (worth * (sd**2 + (mean - new) ** 2) + spread) / total
    return new, max(LEAST_SD, float(np.sqrt(max(0.0, square))))


def _shares(mass: Floats, centre: tuple[float, ...], worth: float) -> tuple[float, ...]:
    total = worth * np.array(centre) + mass
    return tuple(map(float, total / total.sum()))


def _round(earlier: Earlier, shape: Shape, worth: float) -> Shape:
    weights, centre = _weights(shape, earlier.grid), SHIPPED
    mass = _masses(earlier, weights)
    skill = _moved(weights.skill_bell, mass.skill, (centre.skill_mean, centre.skill_sd), worth)
    rate = _moved(weights.rate_bell, mass.rate, (centre.log_rate_mean, centre.log_rate_sd), worth)
    return replace(
        shape,
        skill_mean=skill[0],
        skill_sd=skill[1],
        log_rate_mean=rate[0],
        log_rate_sd=rate[1],
        half_lives=_shares(mass.half_life, centre.half_lives, worth),
        models=_shares(mass.models, centre.models, worth),
    )


def _flat(shape: Shape) -> Floats:
    figures = (shape.skill_mean, shape.skill_sd, shape.log_rate_mean, shape.log_rate_sd)
    return np.array([*figures, *shape.half_lives, *shape.models])


def pooled_shape(earlier: Earlier, *, worth_dogs: float = WORTH_DOGS, n_rounds: int = N_ROUNDS) -> Shape:
    """Return the shape of the prior under which the earlier dogs' records are likeliest, held to the shipped one.

    Model: each row's cell and each dog's model are unknown; the expected masses give mean and deviation of skill and
    log rate and the weights, together with worth_dogs (0 or more) further dogs that look like the shipped prior.
    Assumes: a dog's behaviours, being alike, count as one dog together.
    Source: Dempster, Laird and Rubin, 1977, J. R. Stat. Soc. B 39:1-38; checked on published records in
    tests/external/test_pooled_laws.py, by simulation in tests/unit/training/test_pooling.py.
    """
    if not worth_dogs >= 0.0:
        raise InvalidInput.of("worth_dogs", "{given} dogs cannot be; give 0 or more.", given=worth_dogs)
    shape = replace(SHIPPED, n_dogs=earlier.n_dogs)
    for _ in range(n_rounds):
        before, shape = shape, _round(earlier, shape, worth_dogs)
        if np.abs(_flat(shape) - _flat(before)).max() < ENOUGH:
            break
    return shape


def pool_dogs(summaries: Sequence[DogSummary], *, worth_dogs: float = WORTH_DOGS) -> Shape:
    """Return the shape of the next dog's prior, from summaries made under the shipped prior; without any, the shipped.

    Raises: InvalidInput as `dog_summary.lay_together`.
    """
    if not summaries:
        return SHIPPED
    return pooled_shape(lay_together(summaries, shipped_prior()), worth_dogs=worth_dogs)


def gain_of_pooling(summaries: Sequence[DogSummary], *, worth_dogs: float = WORTH_DOGS) -> Floats:
    """Return for each dog how much likelier its record is under the prior of the others than under the shipped one.

    In nats a dog; below 0 where the others mislead. Each dog is left out in turn; needs two dogs or more.
    """
    gains = []
    for i, own in enumerate(summaries):
        others, alone = [*summaries[:i], *summaries[i + 1 :]], lay_together([own], shipped_prior())
        pooled = log_evidence(alone, pool_dogs(others, worth_dogs=worth_dogs))
        gains.append(float((pooled - log_evidence(alone, SHIPPED))[0]))
    return np.array(gains)
