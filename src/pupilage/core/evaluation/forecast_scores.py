"""How chances that were told compare with what came: calibration, and the Brier score with what it is made of."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite, sqrt

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.intervals import clopper_pearson

EDGES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
"""Five equal bins; the last holds 1 too."""

LEAST_FORECASTS = 20
LEAST_STAYS = 5
"""Under these nothing is scored: an own choice. Twenty coin tosses leave an observed share ± 22 points wide."""


@dataclass(frozen=True)
class Told:
    """A chance that was told, what came, and of which stay: the forecasts of one stay stand or fall together."""

    p: float
    met: bool
    stay: str


@dataclass(frozen=True)
class Bin:
    """Forecasts from `start` to under `end`: their mean, and the share that was met with exact 95 % limits."""

    start: float
    end: float
    n: int
    n_met: int
    mean_p: float
    share: float
    low: float
    high: float


@dataclass(frozen=True)
class Scores:
    """Brier score (0 is best, 0.25 is a coin) = reliability − resolution + uncertainty + within.

    low, high: 95 % limits that let the forecasts of a stay hang together; skill: 1 − brier ÷ uncertainty, None where
    all came alike; n_stays behind it. within: variance less covariance inside the bins, 0 for equal forecasts.
    """

    n: int
    n_met: int
    n_stays: int
    brier: float
    low: float
    high: float
    reliability: float
    resolution: float
    uncertainty: float
    within: float
    skill: float | None
    bins: tuple[Bin, ...]


def bins_of(told: Sequence[Told], edges: Sequence[float] = EDGES) -> list[Bin]:
    """Return the bins that hold a forecast, in order.

    Raises: InvalidInput for a chance outside 0 to 1. Source: limits as `clopper_pearson`, which take the forecasts of a
    bin for independent; checked in tests/external/test_forecast_scores.py.
    """
    _require_chances(told)
    found = []
    for start, end in pairwise(edges):
        own = [one for one in told if start <= one.p < end or (end == edges[-1] and one.p == end)]
        if own:
            n, n_met = len(own), sum(one.met for one in own)
            mean_p = sum(one.p for one in own) / n
            found.append(Bin(start, end, n, n_met, mean_p, n_met / n, *clopper_pearson(n_met, n)))
    return found


def score(told: Sequence[Told]) -> Scores | None:
    """Return the scores, None under 20 forecasts or five stays.

    Model: brier = mean of (p − o)²; over the bins k, reliability = Σ n_k (p̄_k − ō_k)² ÷ n, resolution =
    Σ n_k (ō_k − ō)² ÷ n, uncertainty = ō (1 − ō), and within = Σ (p − p̄_k)² ÷ n − 2 Σ (p − p̄_k)(o − ō_k) ÷ n, so that
    the sum is exact for any bins. Limits: the mean of clusters of unequal size (ratio estimator), Student's t with
    stays − 1 degrees of freedom.
    Raises: InvalidInput for a chance outside 0 to 1.
    Source: Brier (1950), Mon. Weather Rev. 78, 1-3; Murphy (1973), J. Appl. Meteorol. 12, 595-600; Stephenson, Coelho &
    Jolliffe (2008), Weather Forecast. 23, 752-757; Cochran (1977), Sampling Techniques, 3rd ed., section 6.3 (from
    memory). Checked in tests/external/test_forecast_scores.py.
    """
    _require_chances(told)
    stays = {one.stay for one in told}
    if len(told) < LEAST_FORECASTS or len(stays) < LEAST_STAYS:
        return None
    n, n_met = len(told), sum(one.met for one in told)
    losses = [(one.p - one.met) ** 2 for one in told]
    brier, base = sum(losses) / n, n_met / n
    bins = bins_of(told)
    reach = _reach(told, losses, brier)
    uncertainty = base * (1.0 - base)
    reliability = sum(one.n * (one.mean_p - one.share) ** 2 for one in bins) / n
    resolution = sum(one.n * (one.share - base) ** 2 for one in bins) / n
    return Scores(
        n=n,
        n_met=n_met,
        n_stays=len(stays),
        brier=brier,
        low=max(0.0, brier - reach),
        high=min(1.0, brier + reach),
        reliability=reliability,
        resolution=resolution,
        uncertainty=uncertainty,
        within=_within(told, bins),
        skill=1.0 - brier / uncertainty if uncertainty > 0.0 else None,
        bins=tuple(bins),
    )


def _within(told: Sequence[Told], bins: Sequence[Bin]) -> float:
    total = 0.0
    for one in told:
        own = next(b for b in reversed(bins) if b.start <= one.p)
        total += (one.p - own.mean_p) ** 2 - 2.0 * (one.p - own.mean_p) * (one.met - own.share)
    return total / len(told)


def _reach(told: Sequence[Told], losses: Sequence[float], brier: float) -> float:
    """Return half the width of the 95 % interval of a mean over clusters."""
    from scipy.special import stdtrit  # slow to load, and few commands ask

    excess: dict[str, float] = {}
    for one, loss in zip(told, losses, strict=True):
        excess[one.stay] = excess.get(one.stay, 0.0) + loss - brier
    k = len(excess)
    error = sqrt(k / (k - 1) * sum(e * e for e in excess.values())) / len(told)
    return float(stdtrit(k - 1, 0.975)) * error


def _require_chances(told: Sequence[Told]) -> None:
    for one in told:
        if not (isfinite(one.p) and 0.0 <= one.p <= 1.0):
            raise InvalidInput.of("p", "{given} is no chance; give one between 0 and 1.", given=one.p)
