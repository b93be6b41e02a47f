"""Chances and rates of cells over earlier dogs, by empirical Bayes on their tallies.

A sum of digammas over dogs is a sum over j of (how many dogs have a count above j) / (x + j), exactly, so that five
thousand dogs cost no more than the longest count among them.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.training.pooling.tallies import Counts, Tallies
from pupilage.core.training.posterior.learners import Floats

N_STEPS = 60
ENOUGH = 1e-9


@dataclass(frozen=True)
class Weak:
    """A weak hyperprior: log of the prior's worth ~ N(log worth, sd^2), logit or log of its mean ~ N(mean, mean_sd^2).

    worth in trials (chances) or in the unit of exposure (rates). Without it a cell in which dogs do not differ runs
    away to a worth without end.
    """

    worth: float = 8.0
    worth_sd: float = 1.5
    mean: float = 0.0
    mean_sd: float = 2.0


WEAK = Weak()
WEAK_RATE = Weak(worth=4.0, worth_sd=1.5, mean=0.0, mean_sd=3.0)


@dataclass(frozen=True)
class Chances:
    """Beta(alpha, beta) a cell: what a new dog is expected to do there, and how alike dogs are."""

    alpha: Floats
    beta: Floats

    @property
    def mean(self) -> Floats:
        return self.alpha / (self.alpha + self.beta)

    def given(self, n_met: Any, n_missed: Any) -> Floats:
        """Return a dog's mean chance in each cell after its own trials."""
        return np.asarray((self.alpha + n_met) / (self.alpha + self.beta + n_met + n_missed))


@dataclass(frozen=True)
class _Tails:
    """above (C, J): dogs with a count above j, for j = 0, 1, …"""

    above: Floats

    def log(self, x: Floats) -> Floats:
        """Return the sum over dogs of log Gamma(x + count) - log Gamma(x)."""
        return np.asarray((self.above * np.log(x[:, None] + self._j)).sum(1))

    def slopes(self, x: Floats) -> tuple[Floats, Floats]:
        """Return the first and second derivative of `log`."""
        first = self.above / (x[:, None] + self._j)
        return first.sum(1), -(first / (x[:, None] + self._j)).sum(1)

    @property
    def _j(self) -> Floats:
        return np.arange(self.above.shape[1], dtype=np.float64)


def _tails(counts: Counts) -> _Tails:
    """Return the tails of counts (n_dogs, n_cells)."""
    n_dogs, n_cells = counts.shape
    n = max(1, int(counts.max(initial=0)))
    keys = counts + np.arange(n_cells) * (n + 1)
    seen = np.bincount(keys.ravel(), minlength=n_cells * (n + 1)).reshape(n_cells, n + 1)
    return _Tails((n_dogs - np.cumsum(seen, axis=1))[:, :-1].astype(np.float64))


@dataclass(frozen=True)
class _ChanceSurface:
    """The log marginal likelihood of Beta-binomial cells and its derivatives in (logit mean, log worth)."""

    met: _Tails
    missed: _Tails
    both: _Tails
    weak: Weak | None

    def value(self, a: Floats, b: Floats) -> Floats:
        alpha, beta, worth, _ = _beta_of(a, b)
        return self.met.log(alpha) + self.missed.log(beta) - self.both.log(worth) + _log_weak(self.weak, a, b)

    def slopes(self, a: Floats, b: Floats) -> tuple[Floats, Floats]:
        alpha, beta, worth, p = _beta_of(a, b)
        (f_a, h_a), (f_b, h_b), (f_w, h_w) = self.met.slopes(alpha), self.missed.slopes(beta), self.both.slopes(worth)
        turn = worth * p * (1.0 - p)
        gradient = np.stack(((f_a - f_b) * turn, f_a * alpha + f_b * beta - f_w * worth))
        aa = (h_a + h_b) * turn**2 + (f_a - f_b) * turn * (1.0 - 2.0 * p)
        ab = turn * (h_a * alpha - h_b * beta + f_a - f_b)
        bb = h_a * alpha**2 + h_b * beta**2 - h_w * worth**2 + gradient[1]
        return _with_weak(self.weak, a, b, gradient, np.stack((aa, ab, bb)))


def _beta_of(a: Floats, b: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    p, worth = 1.0 / (1.0 + np.exp(-a)), np.exp(b)
    return worth * p, worth * (1.0 - p), worth, p


@dataclass(frozen=True)
class _RateSurface:
    """The log marginal likelihood of Gamma-Poisson cells and its derivatives in (log mean, log worth).

    Gamma(shape = mean * worth, rate = worth); n and exposure (n_dogs, n_cells).
    """

    tails: _Tails
    n: Floats
    exposure: Floats
    weak: Weak | None

    def value(self, a: Floats, b: Floats) -> Floats:
        worth = np.exp(b)
        shape = np.exp(a) * worth
        spread = shape * np.log(worth) - (shape + self.n) * np.log(worth + self.exposure)
        return np.asarray(self.tails.log(shape) + spread.sum(0) + _log_weak(self.weak, a, b))

    def slopes(self, a: Floats, b: Floats) -> tuple[Floats, Floats]:
        worth = np.exp(b)
        shape = np.exp(a) * worth
        f, h = self.tails.slopes(shape)
        all_exposed = worth + self.exposure
        f = f + np.log(worth / all_exposed).sum(0)
        g = (shape / worth - (shape + self.n) / all_exposed).sum(0)
        cross = (1.0 / worth - 1.0 / all_exposed).sum(0)
        gg = (-shape / worth**2 + (shape + self.n) / all_exposed**2).sum(0)
        gradient = np.stack((f * shape, f * shape + g * worth))
        aa = h * shape**2 + f * shape
        ab = aa + cross * shape * worth
        bb = aa + 2.0 * cross * shape * worth + gg * worth**2 + g * worth
        return _with_weak(self.weak, a, b, gradient, np.stack((aa, ab, bb)))


_Surface = _ChanceSurface | _RateSurface


def _log_weak(weak: Weak | None, a: Floats, b: Floats) -> Floats:
    if weak is None:
        return np.zeros_like(a)
    far_a, far_b = (a - weak.mean) / weak.mean_sd, (b - np.log(weak.worth)) / weak.worth_sd
    return np.asarray(-0.5 * (far_a**2 + far_b**2))


def _with_weak(weak: Weak | None, a: Floats, b: Floats, gradient: Floats, hessian: Floats) -> tuple[Floats, Floats]:
    if weak is not None:
        gradient[0] -= (a - weak.mean) / weak.mean_sd**2
        gradient[1] -= (b - np.log(weak.worth)) / weak.worth_sd**2
        hessian[0] -= 1.0 / weak.mean_sd**2
        hessian[2] -= 1.0 / weak.worth_sd**2
    return gradient, hessian


def _climb(surface: _Surface, a: Floats, b: Floats) -> tuple[Floats, Floats]:
    """Return the top of every cell's surface by Newton steps of at most 1, damped where it is not yet concave."""
    value = surface.value(a, b)
    for _ in range(N_STEPS):
        (g_a, g_b), (aa, ab, bb) = surface.slopes(a, b)
        middle, half = (aa + bb) / 2.0, np.hypot((aa - bb) / 2.0, ab)
        damp = np.maximum(0.0, middle + half + 1e-6 * (1.0 + abs(middle)))  # makes both curvatures negative
        aa, bb = aa - damp, bb - damp
        det = aa * bb - ab**2
        step_a, step_b = -(bb * g_a - ab * g_b) / det, -(aa * g_b - ab * g_a) / det
        size = np.maximum(1.0, np.maximum(abs(step_a), abs(step_b)))
        step_a, step_b = step_a / size, step_b / size
        for _ in range(12):
            better = surface.value(a + step_a, b + step_b)
            worse = better < value
            if not worse.any():
                break
            step_a, step_b = np.where(worse, step_a / 2.0, step_a), np.where(worse, step_b / 2.0, step_b)
        a, b, value = a + step_a, b + step_b, np.maximum(value, better)
        if max(np.abs(step_a).max(), np.abs(step_b).max()) < ENOUGH:
            break
    return a, b


def pooled_chances(tallies: Tallies, *, weak: Weak | None = WEAK) -> Chances:
    """Return the Beta prior of every cell from earlier dogs.

    Model: n_met ~ Beta-binomial(alpha, beta) a dog and cell; the mode in (logit mean, log worth), worth = alpha + beta,
    under a weak hyperprior; weak = None gives the maximum of the likelihood, where there is one.
    Source: Gelman et al., 2013, Bayesian Data Analysis, section 5.3; checked in tests/external/test_pooled_cells.py.
    """
    if (tallies.n_met < 0).any() or (tallies.n_missed < 0).any():
        raise InvalidInput.of("tallies", "A dog's tallies are 0 or more; something below was given.")
    met, missed = tallies.n_met.sum(0) + 0.5, tallies.n_missed.sum(0) + 0.5
    surface = _ChanceSurface(
        _tails(tallies.n_met), _tails(tallies.n_missed), _tails(tallies.n_met + tallies.n_missed), weak
    )
    a, b = _climb(surface, np.log(met / missed), np.full(len(met), np.log(8.0)))
    alpha, beta, _, _ = _beta_of(a, b)
    return Chances(alpha, beta)


def log_likelihood_of_chances(tallies: Tallies, alpha: Floats, beta: Floats) -> Floats:
    """Return the log marginal likelihood of each cell at Beta(alpha, beta), without the binomial coefficients."""
    surface = _ChanceSurface(
        _tails(tallies.n_met), _tails(tallies.n_missed), _tails(tallies.n_met + tallies.n_missed), None
    )
    return surface.value(np.log(alpha / beta), np.log(alpha + beta))


@dataclass(frozen=True)
class Rates:
    """Gamma(shape, worth) a cell: what rate a new dog is expected to have; worth in the unit of exposure."""

    shape: Floats
    worth: Floats

    @property
    def mean(self) -> Floats:
        return self.shape / self.worth

    def given(self, n: Any, exposure: Any) -> Floats:
        """Return a dog's mean rate in each cell after its own events and exposure."""
        return np.asarray((self.shape + n) / (self.worth + exposure))


def pooled_rates(n: Counts, exposure: Floats, *, weak: Weak | None = WEAK_RATE) -> Rates:
    """Return the Gamma prior of every cell from earlier dogs' counts of events (n_dogs, n_cells) and exposures.

    Model: n ~ Poisson(rate * exposure), rate ~ Gamma(shape, worth); the mode in (log mean, log worth) under a weak
    hyperprior, whose worth is in units of the mean exposure, and whose mean is that of all dogs together.
    Raises: InvalidInput for counts below 0, or an exposure that is not above 0.
    Source: Gaver and O'Muircheartaigh, 1987, Technometrics 29:1-15; checked in tests/external/test_pooled_cells.py.
    """
    if (n < 0).any() or not (np.isfinite(exposure) & (exposure > 0.0)).all():
        raise InvalidInput.of("exposure", "Give counts of 0 or more, and an exposure above 0 for each.")
    unit = exposure.mean()
    scaled = exposure / unit
    start = np.log((n.sum(0) + 0.5) / scaled.sum(0))
    centred = None if weak is None else Weak(weak.worth, weak.worth_sd, float(start.mean()), weak.mean_sd)
    surface = _RateSurface(_tails(n), n.astype(np.float64), scaled, centred)
    a, b = _climb(surface, start, np.zeros(n.shape[1]))
    return Rates(np.exp(a + b), np.exp(b) * unit)


def log_likelihood_of_rates(n: Counts, exposure: Floats, shape: Floats, worth: Floats) -> Floats:
    """Return the log marginal likelihood of each cell at Gamma(shape, worth), up to a constant."""
    surface = _RateSurface(_tails(n), n.astype(np.float64), exposure, None)
    return surface.value(np.log(shape / worth), np.log(worth))
