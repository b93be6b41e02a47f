"""How much each dimension weighs for this dog: the engine's grid with the weights as further static coordinates.

The engine takes the shipped weights of `difficulty.py` for granted. Here duration, distance, distraction and place each
have a factor on theirs, log-normal around 1, and the record decides how far it moves. Points in the space of the
factors ride along the grid's cells, so each trial is counted once, and skill and factors are judged together.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.learners import FORMS, Floats
from pupilage.core.training.posterior.prior import Prior
from pupilage.core.training.thresholds.pointgrid import Fold, Folded, thinned
from pupilage.core.training.thresholds.points import even_normals, points_near
from pupilage.core.training.thresholds.rounds import Round, rounds_of
from pupilage.core.training.thresholds.ruler import WEIGHED, Ruler, ruler_of

WEIGHT_SD = 0.4
"""Of the log of a factor: nine dogs in ten lie between half and twice the shipped weight. Made up, not measured."""

N_FIRST = 32
N_POINTS = 72
LEAST_POINTS = 20
MOST_WORK = 9_000
"""Points times rounds; a record of more than 125 rounds is read with fewer points, down to 20."""

N_CROSSED = 16
FINE = 16, 5, 3
COARSE = 8, 3, 2
"""Values of skill, rate and half-life: the second for the fit that only says where to look."""

BIN = 0.2
"""Logits of ability that are drawn together, at their mean."""

LEAST_WEIGHT = 1e-7

Places = NDArray[np.intp]


@dataclass(frozen=True)
class Weighed:
    """What is believed of skill and factors at a moment, as weighted cells that add up to 1.

    factors (P, 4): points in the order of WEIGHED. ability, point, weight (A,): the learners with a skill, `ability` in
    logits with the day's form in it. mastery (3, L + 1): the learners by levels, for every form and number of levels;
    they say nothing of the factors, whose `mass` (P,) is the prior's there. rounds: the record behind it.
    """

    ruler: Ruler
    factors: Floats
    mass: Floats
    ability: Floats
    point: Places
    weight: Floats
    mastery: Floats
    rounds: tuple[Round, ...]

    @property
    def n_trials(self) -> int:
        """Trials of the record that say something."""
        return sum(one.n for one in self.rounds)

    @property
    def p_by_levels(self) -> float:
        """The chance that this dog is of the learners by levels."""
        return float(self.mastery.sum())

    @property
    def by_point(self) -> Floats:
        """The weight (P,) of every point of the factors, all kinds of learner together."""
        by_skill = np.bincount(self.point, self.weight, len(self.mass))
        return np.asarray(by_skill + self.mass * self.mastery.sum())


def weigh(known: Knowledge, behaviour: Behaviour, *, now: datetime) -> Weighed:
    """Return what a dog's record lets us believe of its skill at a behaviour and of what each dimension costs it.

    Model: p = 0.02 + 0.96 sigmoid(s + form - sum_d m_d w_d x_d - ...), log m_d ~ N(0, 0.4^2), skill, learning and
    forgetting as in the engine; importance points from a quadratic fit to the log evidence (Laplace), with a quarter
    of them from the prior. Deterministic. The kinds of learner and the form of the day keep the weight that the other
    behaviours gave them.
    Source: Laplace importance sampling, Geweke, 1989, Econometrica 57 (from memory); checked in
    tests/unit/training/test_weighing.py.
    """
    zone, prior = known.state.zone, known.state.prior
    whole, day = known.at(behaviour.key, now), local_day(now, zone)
    rounds = rounds_of(known.behaviours, behaviour.key, known.trials, zone)
    ruler = ruler_of(behaviour)
    fold = Fold(ruler, rounds, day, np.log(np.maximum(prior.models, 1e-12)))
    alone = fold.over(thinned(prior, *FINE), np.ones((1, 4)), np.ones(1))
    fold = replace(fold, log_models=fold.log_models + _log_ratio(whole.models, alone.models))
    active = _active(ruler, rounds)
    z, mass = _points(fold, prior, active)
    factors = np.ones((len(z), len(WEIGHED)))
    factors[:, active] = np.exp(WEIGHT_SD * z)
    folded = fold.over(thinned(prior, *FINE), factors, mass)
    forms = folded.forms * np.exp(_log_ratio(whole.forms, alone.forms))
    return _cross(replace(folded, forms=forms / forms.sum(0)), active, ruler, rounds)


def _log_ratio(whole: Floats, alone: Floats) -> Floats:
    """Return what the other behaviours add to the log weights that this one's record gives by itself, at most 0."""
    ratio = np.log(np.maximum(whole, 1e-26)) - np.log(np.maximum(alone, 1e-26))
    return np.asarray(np.clip(ratio - ratio.max(0), -30.0, 0.0))


def _active(ruler: Ruler, rounds: Sequence[Round]) -> list[int]:
    """Return the dimensions in which the record ever differs from the first step: of the others it says nothing."""
    steps = ruler.behaviour.steps
    first, _ = ruler.parts(steps[0].criterion)
    asked = {(one.step, one.duration_s) for one in rounds}
    parts = [ruler.parts(replace(steps[step].criterion, duration_s=s))[0] for step, s in asked]
    return [i for i in range(len(WEIGHED)) if any(abs(one[i] - first[i]) > 1e-9 for one in parts)]


def _points(fold: Fold, prior: Prior, active: list[int]) -> tuple[Floats, Floats]:
    """Return points (K, d) of the active factors, in sd of their logs, and the prior's mass at each."""
    n, d = len(fold.rounds), len(active)
    if not d:
        return np.zeros((1, 0)), np.ones(1)
    first = even_normals(N_FIRST, d)
    factors = np.ones((N_FIRST, len(WEIGHED)))
    factors[:, active] = np.exp(WEIGHT_SD * first)
    found = fold.over(thinned(prior, *COARSE), factors, np.full(N_FIRST, 1.0 / N_FIRST))
    log_likelihood = np.log(np.maximum(found.by_point(), 1e-12))
    n_points = int(np.clip(MOST_WORK / n, LEAST_POINTS, N_POINTS))
    return points_near(first, log_likelihood, n_points)


def _cross(folded: Folded, active: list[int], ruler: Ruler, rounds: Sequence[Round]) -> Weighed:
    """Return the belief in few cells, the dimensions that the record says nothing of crossed in from their prior."""
    ability, point, weight = _binned(folded)
    factors, mass = folded.factors, folded.mass
    rest = [i for i in range(len(WEIGHED)) if i not in active]
    if rest:
        crossed = np.exp(WEIGHT_SD * even_normals(N_CROSSED, len(rest)))
        n = len(crossed)
        factors = np.repeat(factors, n, axis=0)
        factors[:, rest] = np.tile(crossed, (len(mass), 1))
        mass = np.repeat(mass, n) / n
        ability, weight = np.repeat(ability, n), np.repeat(weight, n) / n
        point = np.repeat(point, n) * n + np.tile(np.arange(n), len(point))
    by_form = (folded.forms * folded.models)[:, grids.N_SKILL_MODELS :]
    mastery = (by_form[..., None, None] * folded.grid.mastery).sum((1, 2))
    return Weighed(ruler, factors, mass, ability, point, weight, mastery, tuple(rounds))


def _binned(folded: Folded) -> tuple[Floats, Places, Floats]:
    """Return ability, point and weight of the skill cells, those of a point within BIN of each other drawn together."""
    ability = folded.grid.skill + FORMS[:, None, None]
    weight = folded.joint
    lowest = float(ability.min())
    n_bins = int((float(ability.max()) - lowest) / BIN) + 1
    n_each = ability.shape[-1] // len(folded.mass)
    point = np.repeat(np.arange(len(folded.mass)), n_each)
    place = (point * n_bins + ((ability - lowest) / BIN).astype(np.intp)).ravel()
    size = len(folded.mass) * n_bins
    total = np.bincount(place, weight.ravel(), size)
    moment = np.bincount(place, (weight * ability).ravel(), size)
    kept = np.flatnonzero(total > LEAST_WEIGHT)
    ability_of, weight_of = np.asarray(moment[kept] / total[kept]), np.asarray(total[kept], dtype=np.float64)
    return ability_of, kept // n_bins, weight_of
