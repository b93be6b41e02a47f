"""The published avoidance record of 30 animals in 25 trials, for tests that predict or fit it.

Solomon and Wynne's data as printed in Bush and Mosteller, 1955, Stochastic Models for Learning; used for the arithmetic
of learning curves only: nobody should repeat the experiment. It is no part of the project: PUPILAGE_EXTERNAL_DATA names
the folder that holds dogs.csv.
"""

import os
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

FOLDER = "PUPILAGE_EXTERNAL_DATA"


@lru_cache(maxsize=1)
def shocked() -> np.ndarray:
    """Return the record (30, 25), 1 = shocked, 0 = avoided; skip the test where no folder is named."""
    folder = os.environ.get(FOLDER)
    if not folder:
        pytest.skip(f"The published record is no part of the project: set {FOLDER} to the folder with dogs.csv.")
    found = np.loadtxt(Path(folder) / "dogs.csv", delimiter=",", comments="#")
    assert found.shape == (30, 25)
    assert found.sum() == 234  # the published number of shocks
    return found


def counts_before(record: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the shocks and the avoidances before each trial, (n, T) each."""
    shocks = record.cumsum(1) - record
    return shocks, np.arange(record.shape[1]) - shocks
