"""The hazard of breaking a hold, and the variable list, against quadrature, SciPy and a published list.

Sources: Fleshler and Hoffman, 1962, J. Exp. Anal. Behav. 5, 529-530 (VI 30 s, N = 12); scipy.stats.lomax; the
posterior predictive by numerical integration of the exponential likelihood.
"""

import math

import pytest
from scipy.integrate import quad
from scipy.stats import gamma, lomax

from pupilage.core.training.criterion.holds import believe_holds, fleshler_hoffman
from pupilage.core.training.record.evidence import Hold

PUBLISHED = {
    (12, 30.0): (1.286, 4.017, 7.022, 10.363, 14.122, 18.423, 23.446, 29.487, 37.067, 47.261, 62.958, 104.547),
    (10, 60.0): (3.105, 9.786, 17.305, 25.906, 35.953, 48.034, 63.195, 83.583, 114.977, 198.155),
    (5, 10.0): (1.074, 3.601, 6.999, 12.231, 26.094),
}
"""The first is the paper's example; the others were computed by the same formula, separately."""

HOLDS = [
    Hold(4.0, 5.0, broke=True),
    Hold(6.0, 6.0, broke=False),
    Hold(9.5, 12.0, broke=True),
    Hold(3.0, 3.0, broke=False),
]


@pytest.mark.parametrize(("given", "values"), PUBLISHED.items())
def test_list_gives_the_published_intervals(given, values):
    assert fleshler_hoffman(*given) == pytest.approx(values, abs=0.5e-3 + 1e-9)


def test_predictive_chance_is_lomax():
    belief = believe_holds(20.0, HOLDS)
    reference = lomax(belief.shape, scale=belief.exposure_s)
    for duration_s in (0.0, 0.5, 3.0, 12.0, 90.0):
        assert belief.chance_to_hold(duration_s) == pytest.approx(reference.sf(duration_s), rel=1e-12)
    for p in (0.6, 0.8, 0.95):
        assert belief.duration_held_with(p) == pytest.approx(reference.isf(p), rel=1e-9)
    assert belief.median_s == pytest.approx(reference.median(), rel=1e-9)


@pytest.mark.parametrize("duration_s", [2.0, 10.0, 30.0])
def test_predictive_chance_agrees_with_integrating_the_likelihood(duration_s):
    """Prior Gamma(1, 0.15 x 20 s); a break at t has density h exp(-h t), a release at t survival exp(-h t)."""
    prior = gamma(1.0, scale=1.0 / (0.15 * 20.0))

    def weight(hazard: float) -> float:
        exposure = sum(hold.held_s for hold in HOLDS)
        return prior.pdf(hazard) * hazard ** sum(hold.broke for hold in HOLDS) * math.exp(-hazard * exposure)

    top = quad(lambda hazard: weight(hazard) * math.exp(-hazard * duration_s), 0, 5, epsabs=1e-14)[0]
    bottom = quad(weight, 0, 5, epsabs=1e-14)[0]
    assert believe_holds(20.0, HOLDS).chance_to_hold(duration_s) == pytest.approx(top / bottom, rel=1e-6)
