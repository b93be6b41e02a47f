"""What a prior is made of, in twenty numbers: they can be kept with a stay, and make its prior again."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from pupilage.core.training.posterior import prior as priors
from pupilage.core.training.posterior.prior import MODELS, Prior, make_prior, shipped_prior
from pupilage.core.words import Sentence, sentence

WORTH_DOGS = 5.0
"""The shipped prior counts as much as five earlier dogs."""


@dataclass(frozen=True)
class Shape:
    """A prior's figures: skill in logits, log of the rate, weights of half-lives and of the six models.

    n_dogs: how many earlier dogs they come from; 0 is the shipped prior.
    """

    skill_mean: float = priors.SKILL_MEAN
    skill_sd: float = priors.SKILL_SD
    log_rate_mean: float = float(np.log(priors.RATE_MEDIAN))
    log_rate_sd: float = priors.RATE_SD
    half_lives: tuple[float, ...] = tuple(map(float, priors.HALF_LIFE_WEIGHTS))
    models: tuple[float, ...] = (1.0 / len(MODELS),) * len(MODELS)
    n_dogs: int = 0

    def to_json(self) -> dict[str, Any]:
        """Return the shape as plain values; see `find_shape`."""
        return asdict(self)


SHIPPED = Shape()


def find_shape(kept: Mapping[str, Any] | None) -> Shape | None:
    """Return the shape that `to_json` gave, or None where there is none or it no longer fits the grid."""
    if not kept:
        return None
    try:
        half_lives, models = tuple(map(float, kept["half_lives"])), tuple(map(float, kept["models"]))
        figures = {name: float(kept[name]) for name in ("skill_mean", "skill_sd", "log_rate_mean", "log_rate_sd")}
        n_dogs = int(kept["n_dogs"])
    except (KeyError, TypeError, ValueError):
        return None
    sizes_fit = len(half_lives) == len(priors.HALF_LIFE_GRID) and len(models) == len(MODELS)
    sound = min(figures["skill_sd"], figures["log_rate_sd"], *half_lives, *models) > 0.0
    finite = bool(np.isfinite([*figures.values(), *half_lives, *models]).all())
    return (
        Shape(**figures, half_lives=half_lives, models=models, n_dogs=n_dogs)
        if sizes_fit and sound and finite
        else None
    )


@lru_cache(maxsize=64)
def prior_of(shape: Shape) -> Prior:
    """Return the prior of this shape; the same object for the same shape, since grids are kept by it."""
    if shape.n_dogs == 0:
        return shipped_prior()
    models = np.array(shape.models)
    return make_prior(
        f"pooled-{shape.n_dogs}",
        skill_mean=shape.skill_mean,
        skill_sd=shape.skill_sd,
        rate_median=float(np.exp(shape.log_rate_mean)),
        rate_sd=shape.log_rate_sd,
        half_life_weights=np.array(shape.half_lives),
        models=models / models.sum(),
    )


def origin_of(shape: Shape | None) -> Sentence:
    """Return in plain words where the prior of a stay comes from."""
    if shape is None or shape.n_dogs == 0:
        return sentence(
            "What is expected of a new pup comes from our own simulator: no dog was measured for it. Your own earlier "
            "dogs replace it bit by bit."
        )
    return sentence(
        "What is expected of a new pup comes from {n} earlier dogs of yours, held to our simulator as if that were "
        "{worth} more.",
        n=shape.n_dogs,
        worth=int(WORTH_DOGS),
    )
