"""The weights shipped with the program, from the file beside this module; `scripts/learn_noise_weights` writes it."""

import tomllib
from functools import cache
from importlib.resources import files

import numpy as np

from pupilage.core.recordings.noises.logistic import Logistic


@cache
def shipped(name: str) -> Logistic:
    """Return one shipped model by its name in the file, such as "click_learned"."""
    table = tomllib.loads(files(__package__).joinpath("weights.toml").read_text(encoding="utf-8"))[name]
    weights = np.array(table["weights"], float)
    return Logistic(
        np.array(table["mean"], float), np.array(table["scale"], float), weights, np.array(table["bias"], float)
    )
