"""What the trials at one step let us believe about the chance that the next one is met."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput
from pupilage.core.training.record.evidence import Outcome, Trial

PRIOR_ALPHA = 0.5
PRIOR_BETA = 0.5
"""Jeffreys' prior: before the first trial a step may be hard or easy, and one trial soon outweighs it."""


@dataclass(frozen=True)
class Belief:
    """A Beta(alpha, beta) posterior for the chance that the step is met without help, and the counts behind it."""

    alpha: float
    beta: float
    n_met: int
    n_missed: int
    n_helped: int

    @property
    def n(self) -> int:
        """Trials behind the belief; void ones are not among them."""
        return self.n_met + self.n_missed + self.n_helped

    @property
    def mean(self) -> float:
        """Posterior mean, alpha / (alpha + beta)."""
        return self.alpha / (self.alpha + self.beta)

    def interval(self, level: float = 0.9) -> tuple[float, float]:
        """Return the central posterior interval (low, high). `level` is inside (0, 1)."""
        if not 0.0 < level < 1.0:
            raise InvalidInput.of("level", "{level} is no level; give one between 0 and 1, such as 0.9.", level=level)
        from scipy.special import betaincinv

        tail = (1.0 - level) / 2.0
        low, high = (float(betaincinv(self.alpha, self.beta, q)) for q in (tail, 1.0 - tail))
        return low, high

    def p_at_least(self, threshold: float) -> float:
        """Return the probability that the true chance is `threshold` (0 to 1) or more.

        Model: 1 - I_threshold(alpha, beta), the regularised incomplete beta function.
        Checked in tests/external/test_beta_posterior.py.
        """
        if not 0.0 <= threshold <= 1.0:
            raise InvalidInput.of(
                "threshold", "{threshold} is no chance; give one between 0 and 1.", threshold=threshold
            )
        from scipy.special import betaincc

        return float(betaincc(self.alpha, self.beta, threshold))

    def chance_of_at_least(self, k: int, n: int) -> float:
        """Return the predictive chance that at least `k` of the next `n` trials are met."""
        return chance_of_at_least(k, n, alpha=self.alpha, beta=self.beta)


def believe(trials: Iterable[Trial]) -> Belief:
    """Return the belief that these trials, all at one step, carry.

    Model: Beta(0.5 + met, 0.5 + missed + helped). A helped trial counts as not met: the question is whether the dog
    does it without help. A void trial is no evidence.
    Assumes: trials alike and independent, nothing learned or forgotten between them.
    Source: Jeffreys, 1946, Proc. R. Soc. A 186 (the prior); checked in tests/external/test_beta_posterior.py.
    """
    outcomes = [trial.outcome for trial in trials]
    return belief_from_counts(
        outcomes.count(Outcome.MET), outcomes.count(Outcome.MISSED), outcomes.count(Outcome.HELPED)
    )


def belief_from_counts(n_met: int, n_missed: int, n_helped: int = 0) -> Belief:
    """Return the belief that these counts carry; see `believe`. Raises InvalidInput for a count below 0."""
    if not all(count >= 0 for count in (n_met, n_missed, n_helped)):
        raise InvalidInput.of(
            "counts",
            "Counts cannot be below 0: {met} met, {missed} missed, {helped} helped.",
            met=n_met,
            missed=n_missed,
            helped=n_helped,
        )
    return Belief(PRIOR_ALPHA + n_met, PRIOR_BETA + n_missed + n_helped, n_met, n_missed, n_helped)


def chance_of_at_least(k: int, n: int, *, alpha: float, beta: float) -> float:
    """Return P(X >= k) for a beta-binomial X of `n` tries whose chance is Beta(alpha, beta).

    Model: sum over j = k..n of C(n, j) B(alpha + j, beta + n - j) / B(alpha, beta).
    Checked against scipy.stats.betabinom in tests/external/test_beta_posterior.py.
    """
    if not n >= 0:
        raise InvalidInput.of("n", "{n} trials cannot be; give 0 or more.", n=n)
    if k <= 0:
        return 1.0
    terms = (
        math.exp(log_choose(n, j) + _log_beta(alpha + j, beta + n - j) - _log_beta(alpha, beta))
        for j in range(k, n + 1)
    )
    return min(1.0, math.fsum(terms))


def log_choose(n: int, k: int) -> float:
    """Return the log of n over k; as a plain number it would not fit a float from n = 1,030."""
    return math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1)


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
