"""The chance of the test today, against SciPy's binomial law over the same posterior."""

import numpy as np
import pytest
from scipy.stats import beta, binom

from pupilage.core.progress.passing import chance_today
from pupilage.core.training.posterior.reading import N_BINS, Reading, middles


def posterior(a: float, b: float) -> Reading:
    mass = np.diff(beta(a, b).cdf(np.linspace(0.0, 1.0, N_BINS + 1)))
    return Reading(a / (a + b), mass=mass)


@pytest.mark.parametrize(("a", "b"), [(9.5, 2.5), (1.0, 1.0), (30.0, 60.0)])
def test_chance_and_its_ends_are_those_of_scipy(a: float, b: float) -> None:
    """Ten tries, eight met, averaged over Beta(a, b), and over its lowest and highest fifth, by drawing quantiles."""
    q = (np.arange(200_000) + 0.5) / 200_000
    passes = binom.sf(7, 10, beta(a, b).ppf(q))
    found = chance_today(posterior(a, b))
    assert found.p == pytest.approx(passes.mean(), abs=2e-3)
    assert found.low == pytest.approx(passes[q < 0.2].mean(), abs=2e-3)
    assert found.high == pytest.approx(passes[q > 0.8].mean(), abs=2e-3)


def test_dog_that_is_known_for_certain_has_no_spread() -> None:
    mass = np.zeros(N_BINS)
    mass[180] = 1.0
    found = chance_today(Reading(float(middles()[180]), mass=mass))
    assert found.low == pytest.approx(found.p)
    assert found.high == pytest.approx(found.p)
