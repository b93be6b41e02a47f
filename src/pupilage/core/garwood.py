"""How often something may happen, from how often it happened: exact limits of a rate."""

import math

from pupilage.core.errors import InvalidInput


def rate_limits(n: int, days: float, level: float = 0.95) -> tuple[float, float]:
    """Return the exact limits (low, high) of the rate behind n events in so many days (or hours, or occasions).

    Model: low = chi2(α/2; 2n) / 2, 0 if n = 0; high = chi2(1 − α/2; 2n + 2) / 2; both divided by the days.
    Parameters: n, 0 or more; days above 0; level inside (0, 1), two-sided.
    Raises: InvalidInput for figures outside their range.
    Source: Garwood, 1936, Biometrika 28, 437–442; values in tests/external/test_outings.py.
    """
    if n < 0:
        raise InvalidInput.of("n", "{n} events cannot be; give 0 or more.", n=n)
    if not (math.isfinite(days) and days > 0.0):
        raise InvalidInput.of("days", "{days} days cannot be; give more than 0.", days=days)
    if not 0.0 < level < 1.0:
        raise InvalidInput.of("level", "{level} is no level; give one between 0 and 1, such as 0.95.", level=level)
    from scipy.special import gammaincinv  # slow to load, and few commands ask

    tail = (1.0 - level) / 2.0
    low = 0.0 if n == 0 else float(gammaincinv(n, tail))
    return low / days, float(gammaincinv(n + 1, 1.0 - tail)) / days
