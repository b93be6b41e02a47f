"""How often something happens in the time or the opportunities that there were for it, and how sure that is.

Counts are Poisson with an exposure; nothing here is a count a day without its exposure.
"""

import math
from dataclasses import dataclass

from scipy.special import betainc, betaincinv

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.garwood import rate_limits

PRIOR_COUNT = 0.5
"""Shape of the gamma prior of a rate, with nothing observed before (Jeffreys)."""


@dataclass(frozen=True)
class Interval:
    """A figure with its limits. value may be infinite where nothing was seen in the stretch it is divided by."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Tally:
    """n events in an exposure (hours, or opportunities; above 0)."""

    n: int
    exposure: float

    def __post_init__(self) -> None:
        problems = []
        if self.n < 0:
            problems.append(Problem("n", "{n} events cannot be; give 0 or more.", n=self.n))
        if not (math.isfinite(self.exposure) and self.exposure > 0.0):
            problems.append(
                Problem(
                    "exposure",
                    "An exposure of {given} tells no rate; log the time or the opportunities that there were.",
                    given=self.exposure,
                )
            )
        if problems:
            raise InvalidInput(problems)


def rate_of(tally: Tally, *, level: float = 0.95) -> Interval:
    """Return the events per unit of exposure with exact limits.

    Model, source: `garwood.rate_limits`; its table in tests/external/test_incident_rates.py too.
    """
    return Interval(tally.n / tally.exposure, *rate_limits(tally.n, tally.exposure, level))


def ratio_of(later: Tally, earlier: Tally, *, level: float = 0.95) -> Interval:
    """Return the ratio of two rates, later over earlier, with limits that are exact given the sum of events.

    Model: of all events, the later ones are binomial with chance r·T₁ ÷ (r·T₁ + T₀); Clopper and Pearson's limits of
    that chance, turned into ratios. Without any event the ratio is not a number and its limits are 0 and infinity.
    Source: Przyborowski & Wilenski (1940), Biometrika 31, 313-323; values in tests/external/test_incident_rates.py.
    """
    half = _half(level)
    n, total = later.n, later.n + earlier.n
    low = float(betaincinv(n, total - n + 1, half)) if n else 0.0
    high = float(betaincinv(n + 1, total - n, 1.0 - half)) if n < total else 1.0
    value = math.nan if total == 0 else _as_ratio(n / total, later, earlier)
    return Interval(value, _as_ratio(low, later, earlier), _as_ratio(high, later, earlier))


def p_no_difference(later: Tally, earlier: Tally) -> float:
    """Return the exact two-sided p of equal rates, given the sum of events; 1 without any event.

    Model: the chances of all splits of the events that are no likelier than this one, summed (binomial).
    Source: as `ratio_of`; statsmodels' and SciPy's values in tests/external/test_incident_rates.py.
    """
    total = later.n + earlier.n
    p = later.exposure / (later.exposure + earlier.exposure)
    chances = [_binomial(k, total, p) for k in range(total + 1)]
    return min(1.0, math.fsum(c for c in chances if c <= chances[later.n] * (1.0 + 1e-9)))


def p_fewer(later: Tally, earlier: Tally) -> float:
    """Return the chance that the later rate is below the earlier one, both unknown beforehand.

    Model: gamma posteriors with shape n + ½ and the exposure as rate; the share r·T₁ ÷ (r·T₁ + T₀) is then beta, and
    the chance is its distribution function at T₁ ÷ (T₁ + T₀).
    Source: the ratio of two gamma variables is a beta prime; R43 in tests/external/test_incident_rates.py.
    """
    share = later.exposure / (later.exposure + earlier.exposure)
    return float(betainc(later.n + PRIOR_COUNT, earlier.n + PRIOR_COUNT, share))


def believed_ratio(later: Tally, earlier: Tally, *, level: float = 0.95) -> Interval:
    """Return the median and the interval of the ratio of rates under the posteriors of `p_fewer`.

    Both limits are always above 0 and finite: usable where one stretch had no event.
    """
    a, b = later.n + PRIOR_COUNT, earlier.n + PRIOR_COUNT
    half = _half(level)
    low, middle, high = (_as_ratio(float(betaincinv(a, b, q)), later, earlier) for q in (half, 0.5, 1.0 - half))
    return Interval(middle, low, high)


def _half(level: float) -> float:
    if not 0.0 < level < 1.0:
        raise InvalidInput.of("level", "A level of {level} cannot be; give one between 0 and 1.", level=level)
    return (1.0 - level) / 2.0


def _as_ratio(share: float, later: Tally, earlier: Tally) -> float:
    if share >= 1.0:
        return math.inf
    return share / (1.0 - share) * earlier.exposure / later.exposure


def _binomial(k: int, n: int, p: float) -> float:
    log = math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)
    return math.exp(log + k * math.log(p) + (n - k) * math.log1p(-p))
