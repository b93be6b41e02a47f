"""What an earlier dog leaves behind for the next one's prior: a small summary of its grids, never its trials.

A summary says how well each cell of the grid explains a behaviour's record, relative to the rest: posterior over
prior. That is all that pooling needs of a dog (docs/science/pooling.md).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.posterior.prior import Prior
from pupilage.core.training.posterior.state import DogState, at_moment

LEAST_WEIGHT = 1e-12
"""Of a model in a prior, as the state floors it."""

Singles = NDArray[np.float32]


@dataclass(frozen=True)
class DogSummary:
    """One earlier dog, its behaviours in a row (B): relative evidence of every cell under each model.

    skill (B, 4, C) over skill, rate and half-life; level (B, 2, R) over rate and half-life; log_models (6,) the log
    evidence of the whole record for each model. All are relative, made on the grid of the prior named.
    """

    prior: str
    skill: Singles
    level: Singles
    log_models: Floats


def summary_of(state: DogState) -> DogSummary:
    """Return what an earlier dog's whole record says of the grid, its behaviours in the order of their keys.

    It is read the day after the last trial, when that day's form has been summed over.
    Raises: InvalidInput for a dog without a trial.
    """
    behaviours = sorted(state.grids if state.open is None else {*state.grids, state.open.behaviour})
    if state.newest is None or not behaviours:
        raise InvalidInput.of("state", "This dog has no trials; there is nothing to learn from it.")
    tomorrow = state.newest + timedelta(days=1)
    seen = [at_moment(state, behaviour, now=tomorrow) for behaviour in behaviours]
    cells = seen[0].grid.cells
    skill = np.stack([one.grid.weight[0] / cells.weight for one in seen])
    level = np.stack([one.grid.mastery[0].sum(-1) / cells.level_weight for one in seen])
    log_models = np.log(np.maximum(seen[0].models, 1e-26)) - np.log(np.maximum(state.prior.models, LEAST_WEIGHT))
    return DogSummary(state.prior.name, skill.astype(np.float32), level.astype(np.float32), log_models)


@dataclass(frozen=True)
class Earlier:
    """The summaries of all earlier dogs, laid together. dog (N,): whose behaviour each row is."""

    dog: NDArray[np.intp]
    skill: Singles
    level: Singles
    log_models: Floats
    grid: Prior

    @property
    def n_dogs(self) -> int:
        return len(self.log_models)


def lay_together(summaries: Sequence[DogSummary], grid: Prior) -> Earlier:
    """Return the summaries as one table. grid: the prior under which they were made.

    Raises: InvalidInput for none, or for one that was made under another prior: fold that dog's record again.
    """
    if not summaries:
        raise InvalidInput.of("summaries", "There is no earlier dog yet; the shipped prior stands.")
    n_cells = len(grid.skills) * len(grid.rates) * len(grid.half_lives)
    for summary in summaries:
        if summary.prior != grid.name or summary.skill.shape[-1] != n_cells:
            raise InvalidInput.of(
                "summaries",
                "A summary was made under the prior “{given}”, not “{needed}”; fold that dog's record again.",
                given=summary.prior,
                needed=grid.name,
            )
    dog = np.repeat(np.arange(len(summaries)), [len(summary.skill) for summary in summaries])
    skill, level = np.concatenate([s.skill for s in summaries]), np.concatenate([s.level for s in summaries])
    return Earlier(dog, skill, level, np.stack([one.log_models for one in summaries]), grid)
