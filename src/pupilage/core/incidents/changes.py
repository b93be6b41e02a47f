"""When a rate changed, where nobody wrote it down: every day is weighed, none is searched for."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln, logsumexp

from pupilage.core.errors import InvalidInput

PRIOR = (1.0, 1.0)
"""Shape and rate of the gamma prior of a stretch's rate. The weighing of change against none needs a proper one."""

FEWEST_DAYS = 4


@dataclass(frozen=True)
class Change:
    """A change of rate, as weighed. Days are counted from 0.

    p_last_old: for each day but the last, the chance that it was the last with the old rate, given that there was one
    change; mode, the likeliest; low, high: days that hold nine tenths of the chance; rate_before, rate_after: expected
    events per unit of exposure, over all days weighed; log_bayes_factor: of one change at an unknown day against none.
    """

    p_last_old: NDArray[np.float64]
    mode: int
    low: int
    high: int
    rate_before: float
    rate_after: float
    log_bayes_factor: float

    @property
    def p_change(self) -> float:
        """The chance of a change where one and none were equally likely beforehand."""
        return float(1.0 / (1.0 + np.exp(-self.log_bayes_factor)))


def weigh_change(counts: Sequence[float], exposures: Sequence[float], *, prior: tuple[float, float] = PRIOR) -> Change:
    """Return the day at which the rate changed, as a weighing of all days, and the evidence for any change.

    Model: events of a day are Poisson with rate × exposure; one rate up to and with day τ and another after it, each
    gamma; τ uniform over all days but the last. The marginals are exact: bᵃ Γ(a + n) ÷ (Γ(a) (b + T)^(a + n)).
    Parameters: counts, 0 or more, and exposures, 0 or more (a day with none tells nothing), of the same length.
    Raises: InvalidInput for fewer than 4 days, figures that cannot be, or no exposure at all.
    Source: Raftery & Akman (1986), Biometrika 73, 85-89 (the coal-mining record); values in
    tests/external/test_changes.py.
    """
    n, t = _require(counts, exposures)
    a, b = prior
    before_n, before_t = np.cumsum(n)[:-1], np.cumsum(t)[:-1]
    after_n, after_t = n.sum() - before_n, t.sum() - before_t
    logs = _log_marginal(before_n, before_t, prior) + _log_marginal(after_n, after_t, prior)
    evidence = float(logsumexp(logs) - np.log(len(logs)))
    p = np.exp(logs - logsumexp(logs))
    low, high = _limits(p)
    return Change(
        p_last_old=p,
        mode=int(np.argmax(p)),
        low=low,
        high=high,
        rate_before=float(p @ ((a + before_n) / (b + before_t))),
        rate_after=float(p @ ((a + after_n) / (b + after_t))),
        log_bayes_factor=evidence - float(_log_marginal(n.sum(), t.sum(), prior)),
    )


def _log_marginal(
    n: NDArray[np.float64] | np.float64, t: NDArray[np.float64] | np.float64, prior: tuple[float, float]
) -> NDArray[np.float64]:
    a, b = prior
    return np.asarray(a * np.log(b) - gammaln(a) + gammaln(a + n) - (a + n) * np.log(b + t))


def _limits(p: NDArray[np.float64]) -> tuple[int, int]:
    total = np.cumsum(p)
    return int(np.searchsorted(total, 0.05)), int(np.searchsorted(total, 0.95))


def _require(counts: Sequence[float], exposures: Sequence[float]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    n, t = np.asarray(counts, dtype=float), np.asarray(exposures, dtype=float)
    if len(n) != len(t):
        raise InvalidInput.of(
            "exposures", "{days} days have {given} exposures; give one for each day.", days=len(n), given=len(t)
        )
    if len(n) < FEWEST_DAYS:
        raise InvalidInput.of("counts", "Not enough yet: have {n} days, need {least}.", n=len(n), least=FEWEST_DAYS)
    sound = np.isfinite(n).all() and np.isfinite(t).all() and (n >= 0).all() and (t >= 0).all()
    if not sound or t.sum() == 0.0:
        raise InvalidInput.of("counts", "A count or an exposure cannot be; give 0 or more, and not all exposures 0.")
    if (n[t == 0.0] > 0).any():
        raise InvalidInput.of("exposures", "A day has events and no exposure; log the time there was for them.")
    return n, t
