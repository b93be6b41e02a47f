"""Intervals for a share of trials met: how far the true rate may lie from what was counted.

`scipy.special` takes 0.2 s to load, so it is imported where it is used: a command that judges nothing stays quick.
"""

import math

from pupilage.core.errors import InvalidInput


def clopper_pearson(met: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Return the exact binomial interval (low, high) for the rate behind `met` of `n`.

    Model: low = Beta quantile (1-level)/2 of (met, n-met+1); high = quantile 1-(1-level)/2 of (met+1, n-met).
    Parameters: met 0..n; n 0 or more (0 gives (0, 1)); level inside (0, 1).
    Raises: InvalidInput for counts or levels outside their range.
    Source: Clopper and Pearson, 1934, Biometrika 26, "The use of confidence or fiducial limits illustrated in the
    case of the binomial"; values in tests/external/test_binomial_intervals.py.
    """
    _require_counts(met, n, level)
    if n == 0:
        return 0.0, 1.0
    from scipy.special import betaincinv

    tail = (1.0 - level) / 2.0
    low = 0.0 if met == 0 else float(betaincinv(met, n - met + 1, tail))
    high = 1.0 if met == n else float(betaincinv(met + 1, n - met, 1.0 - tail))
    return low, high


def wilson(met: int, n: int, level: float = 0.95) -> tuple[float, float]:
    """Return the score interval (low, high) for the rate behind `met` of `n`, without continuity correction.

    Model: centre (r + z²/2n) / (1 + z²/n), half-width z sqrt(r(1-r)/n + z²/4n²) / (1 + z²/n), r = met/n.
    Parameters: as for `clopper_pearson`.
    Raises: InvalidInput for counts or levels outside their range.
    Source: Wilson, 1927, J. Am. Stat. Assoc. 22, "Probable inference, the law of succession, and statistical
    inference"; values in tests/external/test_binomial_intervals.py.
    """
    _require_counts(met, n, level)
    if n == 0:
        return 0.0, 1.0
    from scipy.special import ndtri

    z = float(ndtri(0.5 + level / 2.0))
    rate, spread = met / n, z * z / n
    centre = (rate + spread / 2.0) / (1.0 + spread)
    half = z * math.sqrt(rate * (1.0 - rate) / n + spread / (4.0 * n)) / (1.0 + spread)
    low = 0.0 if met == 0 else centre - half  # rounding would leave a stray 1e-17
    high = 1.0 if met == n else centre + half
    return low, high


def _require_counts(met: int, n: int, level: float) -> None:
    if not 0 <= met <= n:  # NaN fails too
        raise InvalidInput.of("met", "{met} met of {n} cannot be; give 0 up to {n}.", met=met, n=n)
    if not 0.0 < level < 1.0:
        raise InvalidInput.of("level", "{level} is no level; give one between 0 and 1, such as 0.95.", level=level)
