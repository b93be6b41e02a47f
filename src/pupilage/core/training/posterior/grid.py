"""One behaviour's posterior on the grid: exact, deterministic, no sampling.

Static coordinates are the skill at the first trial, the learning rate and the half-life; today's skill is recomputed
for every cell along the history, so no mass is ever moved between cells and nothing is smeared. The family that
masters level after level carries a distribution over the levels for every (rate, half-life) instead. Within a day the
three forms of the day are carried side by side and summed at night.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

import numpy as np

from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import FORMS, Floats, Forgetting
from pupilage.core.training.posterior.prior import MODELS, Prior

N_FORMS = len(FORMS)
N_SKILL_MODELS = 4
"""Of the six models the first four have a skill: two families times two laws of forgetting."""

FORM_ODDS = np.exp(FORMS)[:, None, None]
FORM_SPANS = (1.0 - learners.GUESS - learners.LAPSE) * FORM_ODDS
HARDEST = 600.0
"""A difficulty beyond this is met by guessing alone, to the last digit, and its exponential would not fit a float."""

TINY = 1e-300

Factors = tuple[Floats, Floats]
"""What multiplies every form and skill cell (3, 4, C), and every form and number of mastered levels (3, L + 1)."""


@dataclass(frozen=True, eq=False)
class Cells:
    """The static coordinates: rate and half-life of each skill cell, and of each level cell."""

    skill: Floats
    rate: Floats
    half_life: Floats
    weight: Floats
    level_rate: Floats
    level_half_life: Floats
    level_weight: Floats

    def share_learned(self, k: int) -> Floats:
        """Return `learners.share_learned` of every skill cell, for 0 … 5 met trials worked out only once."""
        return self._shares_learned[k] if k < len(self._shares_learned) else self._share_learned(k)

    @cached_property
    def _shares_learned(self) -> list[Floats]:
        return [self._share_learned(k) for k in range(learners.BLOCK_TRIALS + 1)]

    def _share_learned(self, k: int) -> Floats:
        return np.asarray(learners.share_learned(self.rate, k))


@lru_cache(maxsize=64)
def cells_of(prior: Prior) -> Cells:
    """Return the cells of a prior, made once."""
    p = prior
    skill, rate, half_life = (x.ravel() for x in np.meshgrid(p.skills, p.rates, p.half_lives, indexing="ij"))
    weight = np.einsum("i,j,k->ijk", p.skill_weights, p.rate_weights, p.half_life_weights).ravel()
    level_rate, level_half_life = (x.ravel() for x in np.meshgrid(p.rates, p.half_lives, indexing="ij"))
    level_weight = np.einsum("j,k->jk", p.rate_weights, p.half_life_weights).ravel()
    return Cells(skill, rate, half_life, weight, level_rate, level_half_life, level_weight)


@dataclass(frozen=True)
class Block:
    """What happened at one difficulty, without a change between: the evidence of up to five trials.

    level: the step's place in its list; delta, tired in logits. taught, probed: one letter a trial, in their order,
    m met, x missed, h helped; the probed ones (cold probes and early releases) are evidence that taught nothing.
    broke: for a timed hold that broke, the difficulties between which it did (the first may be -inf).
    log_s: log seconds from cue to behaviour of the met ones whose start was timed; see `starts`.
    """

    level: int
    delta: float
    tired: float = 0.0
    taught: str = ""
    probed: str = ""
    broke: tuple[float, float] | None = None
    log_s: tuple[float, ...] = ()

    @property
    def n_met(self) -> int:
        return self.taught.count("m") + self.probed.count("m")

    @property
    def n_not_met(self) -> int:
        """Trials missed or helped."""
        return self.n - self.n_met

    @property
    def n_helped(self) -> int:
        return self.taught.count("h")

    @property
    def n(self) -> int:
        return len(self.taught) + len(self.probed)


@dataclass
class Grid:
    """The posterior of one behaviour. Arrays are replaced, never changed in place, so that a copy is cheap.

    skill (4, C); weight (3, 4, C), normalised over C for every form and model; mastery (3, 2, R, L + 1) the same
    over its last two axes; log_evidence (3, 6), of today, by form and model; growth_hits: met trials so far, which
    stretch the half-lives.
    """

    prior: Prior
    n_levels: int
    skill: Floats
    weight: Floats
    mastery: Floats
    log_evidence: Floats
    growth_hits: int = 0

    def copy(self) -> "Grid":
        """Return a grid that can go its own way."""
        return replace(self)

    @property
    def cells(self) -> Cells:
        return cells_of(self.prior)


def fresh_grid(prior: Prior, n_levels: int) -> Grid:
    """Return the grid before the first trial of a behaviour with this many steps."""
    cells = cells_of(prior)
    skill = np.broadcast_to(learners.bound(cells.skill, prior.base), (N_SKILL_MODELS, len(cells.skill)))
    weight = np.broadcast_to(cells.weight, (N_FORMS, N_SKILL_MODELS, len(cells.weight)))
    mastery = cells.level_weight[:, None] * learners.start_by_levels(n_levels)
    return Grid(
        prior,
        n_levels,
        skill,
        weight,
        np.broadcast_to(mastery, (N_FORMS, 2, *mastery.shape)),
        np.zeros((N_FORMS, len(MODELS))),
    )


def _power(x: Floats, n: int) -> Floats | None:
    """Return x to a small whole power by squaring, several times quicker than `**`; None for 0."""
    result = None
    while n:
        if n & 1:
            result = x if result is None else result * x
        n >>= 1
        if n:
            x = x * x
    return result


def _times(*factors: Floats | None) -> Floats | None:
    """Return the product, in the place of the first factor."""
    product = None
    for factor in factors:
        if product is None:
            product = factor
        elif factor is not None:
            product *= factor
    return product


def p_by_skill(grid: Grid, delta: float, tired: float = 0.0) -> Floats:
    """Return the chance of a trial for every form and skill cell, (3, 4, C): one exponential a cell, not three."""
    chance: Floats = np.exp(np.minimum(delta - tired, HARDEST) - grid.skill) + FORM_ODDS
    np.divide(FORM_SPANS, chance, out=chance)
    chance += learners.GUESS
    return chance


def p_by_mastery(grid: Grid, level: int, tired: float = 0.0) -> Floats:
    """Return the chance of a trial for every form and number of mastered levels, (3, L + 1)."""
    return _p_by_mastery(grid.n_levels, level, round(tired, 6))


@lru_cache(maxsize=4096)
def _p_by_mastery(n_levels: int, level: int, tired: float) -> Floats:
    return np.asarray(learners.p_met_by_levels(n_levels, level, form=FORMS[:, None], tired=tired))


def observe(grid: Grid, block: Block, starts: Factors | None = None) -> None:
    """Multiply in the likelihood of a block, and let the family by levels learn from trial to trial.

    Model: p^met (1 - p)^missed; a helped trial is a miss at delta that was met at delta - PROMPT_EASE; a hold that
    broke between two difficulties has mass S(first) - S(second), S the chance to hold. What the other families learn
    comes after the block: see `teach`. starts: what the latencies of its met tries say, from `starts.weigh_starts`.
    """
    if not block.n:
        return
    weight = _skill_likelihood(grid, block)
    weight *= grid.weight
    if starts is not None:
        weight *= starts[0]
        grid.mastery = grid.mastery * starts[1][:, None, None, :]
    mastery = _follow_levels(grid, block)
    masses = np.concatenate((weight.sum(-1), mastery.sum((-2, -1))), axis=1)
    np.maximum(masses, TINY, out=masses)
    share = 1.0 / masses
    weight *= share[:, :N_SKILL_MODELS, None]
    mastery *= share[:, N_SKILL_MODELS:, None, None]
    grid.weight, grid.mastery = weight, mastery
    grid.log_evidence = grid.log_evidence + np.log(masses)


def _skill_likelihood(grid: Grid, block: Block) -> Floats:
    n_met, n_not_met = block.n_met, block.n_not_met
    helped = broke = None
    if block.n_helped:
        helped = _power(p_by_skill(grid, block.delta - learners.PROMPT_EASE, block.tired), block.n_helped)
    if block.broke is not None:
        first, second = block.broke
        until = 1.0 if first == -np.inf else p_by_skill(grid, first, block.tired)
        broke = np.maximum(TINY, until - p_by_skill(grid, second, block.tired))
        n_not_met -= 1
    p = p_by_skill(grid, block.delta, block.tired) if n_met + n_not_met else np.ones(1)
    product = _times(_power(p, n_met), _power(1.0 - p, n_not_met), helped, broke)
    assert product is not None  # noqa: S101  there is one trial at least
    return product


BREAK_BINS = 3


def _follow_levels(grid: Grid, block: Block) -> Floats:
    """Return the masteries after a block, not normalised: evidence and a chance to master the next level, in turn.

    Where a hold broke says nothing here (a third each). Source: the forward step of Corbett and Anderson, 1995.
    """
    factors, moves = _in_turn(grid.prior, grid.n_levels, block.level, round(block.tired, 6), block.probed, block.taught)
    after: Floats = grid.mastery * factors
    if moves is not None:
        after[..., block.level + 1] += grid.mastery[..., block.level] * moves
    if block.broke is not None:
        after /= BREAK_BINS
    return after


@lru_cache(maxsize=1024)
def _in_turn(
    prior: Prior, n_levels: int, level: int, tired: float, probed: str, taught: str
) -> tuple[Floats, Floats | None]:
    """Return what the masses are multiplied by over the trials in turn.

    (3, 1, R, L + 1) the mass that stays at its number of mastered levels; (3, 1, R) the mass at `level` that moves up
    on the way, None where nothing was taught.
    """
    likelihood = _letter_likelihoods(n_levels, level, tired)
    up = learners.p_step_up(cells_of(prior).level_rate, 1)
    each = np.ones((N_FORMS, n_levels + 1))
    stays, moves = np.ones((N_FORMS, 1, len(up))), np.zeros((N_FORMS, 1, len(up)))
    for place, letter in enumerate(probed + taught):
        each = each * likelihood[letter]
        if level == n_levels:
            continue
        before, after = (likelihood[letter][:, i, None, None] for i in (level, level + 1))
        stays, moves = stays * before, moves * after
        if place >= len(probed):
            stays, moves = stays * (1.0 - up), moves + stays * up
    factors = np.repeat(each[:, None, None], len(up), axis=2)
    if level == n_levels or not taught:
        return factors, None
    factors[..., level] = stays
    return factors, moves


@lru_cache(maxsize=4096)
def _letter_likelihoods(n_levels: int, level: int, tired: float) -> dict[str, Floats]:
    """Return the likelihood (3, L + 1) of a trial met, missed, helped."""
    p = _p_by_mastery(n_levels, level, tired)
    eased = _p_by_mastery(n_levels, level, round(tired + learners.PROMPT_EASE, 6))
    return {"m": p, "x": 1.0 - p, "h": (1.0 - p) * eased}


def teach(grid: Grid, block: Block) -> None:
    """Move every cell's skill by what the block taught, and stretch the half-lives to come."""
    n, k = len(block.taught), block.taught.count("m")
    if n == 0:
        return
    rate, towards, at_chance = grid.cells.rate, grid.skill[:2], grid.skill[2:]
    skill = np.concatenate(
        (
            learners.gain_toward_level(towards, grid.cells.share_learned(k), block.delta),
            learners.gain_at_chance(rate, learners.p_met(at_chance, block.delta), k),
        )
    )
    skill += grid.skill
    skill -= learners.MISS_COST * (n - k)
    grid.skill = learners.bound(skill, grid.prior.base)
    grid.growth_hits += k


def end_day(grid: Grid, form_weights: Floats) -> None:
    """Sum over the day's form. form_weights (3, 6): its posterior for every model, from all behaviours of the day."""
    weight = np.einsum("fm,fmc->mc", form_weights[:, :N_SKILL_MODELS], grid.weight)
    mastery = np.einsum("fm,fmrl->mrl", form_weights[:, N_SKILL_MODELS:], grid.mastery)
    grid.weight = np.broadcast_to(weight, (N_FORMS, *weight.shape))
    grid.mastery = np.broadcast_to(mastery, (N_FORMS, *mastery.shape))
    grid.log_evidence = np.zeros_like(grid.log_evidence)


def rest(grid: Grid, days: int) -> None:
    """Forget over this many days without practice; the day before must have been ended."""
    if days <= 0:
        return
    mastery = _forget_levels(grid, grid.mastery[0], days)
    grid.mastery = np.broadcast_to(mastery, (N_FORMS, *mastery.shape))
    grid.skill = forgotten(grid, days)


def forgotten(grid: Grid, days: float) -> Floats:
    """Return the skills (4, C) after days without practice."""
    growth = float(learners.growth_of(grid.growth_hits))
    shares = np.stack([learners.retained(days, grid.cells.half_life * growth, law) for law in Forgetting])
    return np.asarray(learners.forget(grid.skill, np.tile(shares, (2, 1)), grid.prior.base))


def _forget_levels(grid: Grid, mastery: Floats, days: int) -> Floats:
    growth = float(learners.growth_of(grid.growth_hits))
    laws = [
        learners.forget_by_levels(mastery[i], learners.retained(days, grid.cells.level_half_life * growth, law), days)
        for i, law in enumerate(Forgetting)
    ]
    return np.stack(laws)
