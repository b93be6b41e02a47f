"""The engine's grid crossed with points of the dimensions' factors, and a record folded over it.

A point is one more static coordinate of a cell: its trials have their own difficulty, so that evidence on skill and on
what a dimension costs this dog is counted once. The learners by levels have no use for difficulty, and no points.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import cast

import numpy as np

from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior.grid import Block, Cells, Grid
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, Floats, bound, start_by_levels
from pupilage.core.training.posterior.prior import MODELS, Prior
from pupilage.core.training.thresholds.rounds import Round
from pupilage.core.training.thresholds.ruler import Ruler

LOG_FORM_WEIGHTS = np.log(FORM_WEIGHTS)[:, None]


@dataclass
class _PointGrid(Grid):
    """A grid whose cells are crossed with points of the factors; the learners by levels have none."""

    own_cells: Cells | None = None

    @property
    def cells(self) -> Cells:
        assert self.own_cells is not None  # noqa: S101  set where it is made
        return self.own_cells


@dataclass(frozen=True)
class Folded:
    """The end of a fold: the grid, the points of its cells, and the weights of the six models."""

    grid: Grid
    factors: Floats
    mass: Floats
    models: Floats
    forms: Floats

    @property
    def joint(self) -> Floats:
        """Return the weights (3, 4, C) of the skill cells, of the whole belief."""
        n = grids.N_SKILL_MODELS
        weights: Floats = (self.forms * self.models)[:, :n, None] * self.grid.weight
        return weights

    def by_point(self) -> Floats:
        """Return the likelihood (K,) of every point, up to a factor: posterior over prior mass, learners with skill."""
        by_cell = self.joint.sum((0, 1)).reshape(len(self.mass), -1).sum(1)
        return np.asarray(by_cell / self.mass)


@dataclass(frozen=True)
class Fold:
    """A record to be folded for any number of points: `log_models` (6,) are the models' log weights before it."""

    ruler: Ruler
    rounds: Sequence[Round]
    day: date
    log_models: Floats

    def over(self, prior: Prior, factors: Floats, mass: Floats) -> Folded:
        """Return the belief after the record, on the day of the reading, for points with prior mass."""
        grid = _fresh(prior, len(self.ruler.behaviour.steps), mass)
        log_models, day = self.log_models, None
        for one in self.rounds:
            if one.day != day:
                log_models = log_models if day is None else _turn(grid, log_models, day, one.day)
                day = one.day
            _take(grid, one, self.ruler, factors)
        if day is not None and self.day > day:
            log_models = _turn(grid, log_models, day, self.day)
        evidence = LOG_FORM_WEIGHTS + grid.log_evidence
        highest = evidence.max(0)
        forms = np.exp(evidence - highest)
        log_models = log_models + highest + np.log(forms.sum(0))
        models = np.exp(log_models - log_models.max())
        return Folded(grid, factors, mass, models / models.sum(), forms / forms.sum(0))


def _fresh(prior: Prior, n_levels: int, mass: Floats) -> Grid:
    plain = grids.fresh_grid(prior, n_levels)
    one, n = plain.cells, len(mass)
    cells = replace(
        one,
        skill=np.tile(one.skill, n),
        rate=np.tile(one.rate, n),
        half_life=np.tile(one.half_life, n),
        weight=np.repeat(mass, len(one.weight)) * np.tile(one.weight, n),
    )
    skill = np.broadcast_to(bound(cells.skill, prior.base), (grids.N_SKILL_MODELS, len(cells.skill)))
    weight = np.broadcast_to(cells.weight, (grids.N_FORMS, *skill.shape))
    mastery = one.level_weight[:, None] * start_by_levels(n_levels)
    mastery = np.broadcast_to(mastery, (grids.N_FORMS, 2, *mastery.shape))
    return _PointGrid(prior, n_levels, skill, weight, mastery, np.zeros((grids.N_FORMS, len(MODELS))), 0, cells)


def _take(grid: Grid, one: Round, ruler: Ruler, factors: Floats) -> None:
    """Count a round, and teach what it taught; every point has its own difficulty."""
    n_each = grid.skill.shape[1] // len(factors)

    def delta_at(duration_s: float) -> Floats:
        return np.repeat(ruler.delta_at_duration(factors, one.step, duration_s), n_each)

    # The grid's arithmetic broadcasts over a difficulty for every cell as over one for all.
    asked = cast("float", delta_at(one.duration_s))
    block = Block(one.level, asked, one.tired, one.taught, one.probed)
    if one.broke is None:
        grids.observe(grid, block)
    else:
        first, second = one.broke
        end = delta_at(second)
        grids.observe(grid, replace(block, broke=(-np.inf, cast("float", end))))
        if first is not None:
            _narrow(grid, delta_at(first), end, one.tired)
    grids.teach(grid, block)


def _narrow(grid: Grid, first: Floats, end: Floats, tired: float) -> None:
    """Turn the chance of a break before `end` into that of one between the two difficulties."""
    held_first, held_end = (grids.p_by_skill(grid, cast("float", one), tired) for one in (first, end))
    weight = grid.weight * np.maximum(grids.TINY, (held_first - held_end) / (1.0 - held_end))
    mass = weight.sum(-1)
    grid.weight = weight / np.maximum(mass, grids.TINY)[..., None]
    log_evidence = grid.log_evidence.copy()
    log_evidence[:, : grids.N_SKILL_MODELS] += np.log(np.maximum(mass, grids.TINY))
    grid.log_evidence = log_evidence


def _turn(grid: Grid, log_models: Floats, day: date, to: date) -> Floats:
    """End the day, rest until the next one, and return the models' log weights."""
    evidence = LOG_FORM_WEIGHTS + grid.log_evidence
    highest = evidence.max(0)
    forms = np.exp(evidence - highest)
    grids.end_day(grid, forms / forms.sum(0))
    grids.rest(grid, (to - day).days)
    after = log_models + highest + np.log(forms.sum(0))
    return np.asarray(np.maximum(after - after.max(), -60.0))


def thinned(prior: Prior, n_skills: int, n_rates: int, n_half_lives: int) -> Prior:
    """Return the prior with neighbouring values of each grid drawn together."""
    skills, skill_weights = _draw_together(prior.skills, prior.skill_weights, n_skills)
    log_rates, rate_weights = _draw_together(np.log(prior.rates), prior.rate_weights, n_rates)
    log_half_lives, half_life_weights = _draw_together(np.log(prior.half_lives), prior.half_life_weights, n_half_lives)
    return replace(
        prior,
        skills=skills,
        skill_weights=skill_weights,
        rates=np.exp(log_rates),
        rate_weights=rate_weights,
        half_lives=np.exp(log_half_lives),
        half_life_weights=half_life_weights,
    )


def _draw_together(grid: Floats, weights: Floats, n: int) -> tuple[Floats, Floats]:
    groups = np.array_split(np.arange(len(grid)), min(n, len(grid)))
    sums = np.array([weights[group].sum() for group in groups])
    means = np.array(
        [
            np.average(grid[group], weights=weights[group]) if total > 0.0 else grid[group].mean()
            for group, total in zip(groups, sums, strict=True)
        ]
    )
    return means, sums / sums.sum()
