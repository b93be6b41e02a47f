"""What a family tells of a cue beside what was forecast at the hand-over."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from pupilage.core.training.posterior.reading import Reading

Floats = NDArray[np.float64]

MOST_TOLD = 40
"""Only so many of the newest entries of a cue are weighed: what is old says little of today."""

N_NODES = 50


@dataclass(frozen=True)
class Kept:
    """One behaviour after the hand-over. p, low, high: a cold first try today as forecast without practice, and 90 %.

    n_met of n: what the family told; expected: how many the forecast had for the same days; p_as_few: the chance under
    the forecast of as few as that or fewer, None without entries.
    """

    behaviour: str
    step: str
    p: float
    low: float
    high: float
    n_met: int = 0
    n: int = 0
    expected: float = 0.0
    p_as_few: float | None = None


def chance_of_as_few(n_met: int, quantiles: Floats) -> float:
    """Return P(met ≤ n_met) over tries with different, uncertain chances.

    Model: average over the forecast's quantiles u of the Poisson-binomial law of the tries' chances p_i(u): a pup that
    keeps more than expected does so on every day (chances of two days go together).
    Parameters: quantiles, nodes × tries, each between 0 and 1; n_met, from 0 to the number of tries.
    Checked against statsmodels' and SciPy's binomial and beta-binomial laws in tests/external/test_after_handover.py.
    """
    n_nodes, n_tries = quantiles.shape
    law = np.zeros((n_nodes, n_tries + 1))
    law[:, 0] = 1.0
    for i in range(n_tries):
        p = quantiles[:, i : i + 1]
        law[:, 1:] = law[:, 1:] * (1.0 - p) + law[:, :-1] * p
        law[:, :1] *= 1.0 - p
    return float(np.clip(law[:, : n_met + 1].sum(1).mean(), 0.0, 1.0))


def quantiles_of(readings: Sequence[Reading], n_nodes: int = N_NODES) -> Floats:
    """Return the chances of each reading at the middles of equal shares of its posterior: nodes × readings."""
    nodes = (np.arange(n_nodes) + 0.5) / n_nodes
    edges = np.linspace(0.0, 1.0, len(readings[0].mass) + 1) if readings else np.zeros(1)
    columns = []
    for reading in readings:
        reached = np.concatenate(([0.0], np.cumsum(reading.mass)))
        columns.append(np.interp(nodes, reached / reached[-1], edges))
    return np.stack(columns, axis=1) if columns else np.zeros((n_nodes, 0))


def hold_against(today: Reading, told: Sequence[tuple[Reading, bool]], *, behaviour: str, step: str) -> Kept:
    """Return how what was told of a cue stands to the forecast.

    Parameters: today, the forecast of a cold try now; told, of each entry in time order, the forecast of its day and
    whether the cue worked. The newest MOST_TOLD are weighed.
    Assumes: the forecast is of a first try without practice, so that a family that practises does better than it; as
    few as told under it is then rarer still, and the chance given here is too high rather than too low.
    """
    low, high = today.interval()
    newest = list(told)[-MOST_TOLD:]
    if not newest:
        return Kept(behaviour, step, today.mean, low, high)
    n_met = sum(met for _, met in newest)
    readings = [reading for reading, _ in newest]
    return Kept(
        behaviour,
        step,
        today.mean,
        low,
        high,
        n_met,
        len(newest),
        expected=sum(reading.mean for reading in readings),
        p_as_few=chance_of_as_few(n_met, quantiles_of(readings)),
    )


@dataclass(frozen=True)
class KeptTotal:
    """All cues of a family together: n_met of n tries worked, and how many the forecasts had for the same days."""

    n_met: int
    n: int
    expected: float


def total_of(kept: Sequence[Kept]) -> KeptTotal:
    """Return what was told of all cues together; no chance is given for it, since one pup's cues hang together."""
    return KeptTotal(sum(one.n_met for one in kept), sum(one.n for one in kept), sum(one.expected for one in kept))


DAYS_DRAWN = (0, 7, 14, 28, 42, 56)
"""Days after the hand-over at which the forecast is drawn."""

LEAST_DRAWN = 3
"""Under so many entries in a week their share is no point of the drawing: it would only be 0, a half or 1."""


@dataclass(frozen=True)
class ToldWeek:
    """What was told of one cue in a week after the hand-over (0 is the first): n_met of n."""

    week: int
    n_met: int
    n: int


@dataclass(frozen=True)
class KeptCurve:
    """The forecast along the days after the hand-over with its 90 % limits, and what was told week by week."""

    days: tuple[int, ...]
    p: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    told: tuple[ToldWeek, ...]


def curve_of(readings: Sequence[Reading], told: Sequence[tuple[int, bool]]) -> KeptCurve:
    """Return the curve of a cue. readings: one for each of DAYS_DRAWN; told: days after the hand-over, whether met."""
    ends = [one.interval() for one in readings]
    weeks = sorted({day // 7 for day, _ in told if 0 <= day <= DAYS_DRAWN[-1]})
    by_week = [(week, [met for day, met in told if day // 7 == week]) for week in weeks]
    return KeptCurve(
        DAYS_DRAWN,
        tuple(one.mean for one in readings),
        tuple(low for low, _ in ends),
        tuple(high for _, high in ends),
        tuple(ToldWeek(week, sum(met), len(met)) for week, met in by_week),
    )
