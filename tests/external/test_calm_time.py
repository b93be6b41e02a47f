"""How long a pup stays calm, beside SciPy's Weibull law and Simpson's rule over what docs/science/alone.md states.

Weibull with censoring: Kalbfleisch & Prentice (2002), The Statistical Analysis of Failure Time Data, ch. 2-3 (from
memory). The figures of that page are written out here a second time: shapes 0.7, 1, 1.5 and 2.2 alike beforehand, log λ
normal around five minutes with sd 2.2, the i-th newest absence raised to 0.9^i, chances of 0.9 and one half.
"""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from scipy.integrate import simpson
from scipy.stats import norm, weibull_min

from pupilage.core.incidents.alone import Absence, Sign, read_calm

START = datetime(2026, 5, 12, 9, tzinfo=UTC)
SHAPES = np.array([0.7, 1.0, 1.5, 2.2])[:, None]
LOG_SCALE = np.linspace(np.log(300.0) - 6 * 2.2, np.log(300.0) + 6 * 2.2, 20_001)

C, S, F = "calm", "sign", "found afterwards"
SIGN_LAST = [(30.0, C), (50.0, S)]
LONGER = [(5.0, C), (12.0, C), (40.0, S), (9.0, C), (18.0, C), (60.0, F), (25.0, C), (25.0, C)]


def absences(record):
    return [
        Absence(START + timedelta(hours=i), seconds, Sign.NONE if kind == C else Sign.WHINING, known=kind != F)
        for i, (seconds, kind) in enumerate(record)
    ]


def posterior(record):
    """Return the density of each shape (a row) and log λ, scaled to one in all."""
    law = weibull_min(SHAPES, scale=np.exp(LOG_SCALE))
    log_density = norm.logpdf(LOG_SCALE, np.log(300.0), 2.2) + np.zeros_like(SHAPES)
    for i, (seconds, kind) in enumerate(reversed(record)):
        log_density = log_density + 0.9**i * {C: law.logsf, S: law.logpdf, F: law.logcdf}[kind](seconds)
    density = np.exp(log_density - log_density.max())
    return density / simpson(density, x=LOG_SCALE).sum()


def p_calm(record, seconds):
    calm = weibull_min(SHAPES, scale=np.exp(LOG_SCALE)).sf(seconds)
    return simpson(posterior(record) * calm, x=LOG_SCALE).sum()


def p_sure_below(record, seconds):
    """Return the chance that the time borne by nine in ten, a quantile of the pup's own law, is below the seconds."""
    sure_s = weibull_min(SHAPES, scale=np.exp(LOG_SCALE)).ppf(0.1)
    return simpson(posterior(record) * (sure_s < seconds), x=LOG_SCALE).sum()


@pytest.mark.parametrize("record", [SIGN_LAST, LONGER])
def test_calm_times_have_their_chances_by_scipys_law(record):
    found = read_calm(absences(record))
    assert p_calm(record, found.sure_s) == pytest.approx(0.9, abs=1e-6)
    assert p_calm(record, found.likely_s) == pytest.approx(0.5, abs=5e-6)


@pytest.mark.parametrize("record", [SIGN_LAST, LONGER])
def test_limits_of_the_sure_time_hold_nine_in_ten(record):
    """The program adds cells of a twentieth of log λ, so that a limit may be off by a small part of one."""
    found = read_calm(absences(record))
    assert p_sure_below(record, found.low_s) == pytest.approx(0.05, abs=1e-3)
    assert p_sure_below(record, found.high_s) == pytest.approx(0.95, abs=1e-3)


@pytest.mark.parametrize(("record", "n"), [(SIGN_LAST, 1.9), (LONGER, (1 - 0.9**8) / 0.1)])
def test_share_of_what_was_expected_is_one_beside_the_faded_absences(record, n):
    assert read_calm(absences(record)).prior_share == pytest.approx(1 / (1 + n))
