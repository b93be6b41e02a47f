"""Waits until something happens: printed values of lifelines and scikit-survival, and a textbook's table."""

import math

import numpy as np
import pytest
from scipy.stats import norm
from statsmodels.duration.survfunc import SurvfuncRight

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.survival import Wait, compare_waits, survival_of

EVENTS = (35, 42, 50, 55, 60, 62, 70, 75, 80, 90, 95, 110, 120, 140)
CENSORED = (45, 65, 100, 30)
WAITS = [Wait(t, True) for t in EVENTS] + [Wait(t, False) for t in CENSORED]

# Weeks of remission, treated and placebo: Freireich et al. (1963), Blood 21, 699-716; + is censored.
TREATED = [Wait(t, True) for t in (6, 6, 6, 7, 10, 13, 16, 22, 23)] + [
    Wait(t, False) for t in (6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35)
]
PLACEBO = [Wait(t, True) for t in (1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23)]


def test_shares_are_those_of_lifelines_and_scikit_survival():
    # R36: KaplanMeierFitter and kaplan_meier_estimator.
    found = survival_of(WAITS)
    assert [found.at(t) for t in (60, 75, 90)] == pytest.approx([0.6932773109, 0.4901960784, 0.3501400560], abs=5e-11)
    assert found.median_s == 75


def test_remission_has_its_textbook_values():
    # R42b: S(10) .752941; medians 23 and 8; log-rank 16.79294.
    assert survival_of(TREATED).at(10) == pytest.approx(0.752941, abs=5e-7)
    assert (survival_of(TREATED).median_s, survival_of(PLACEBO).median_s) == (23, 8)
    statistic, p = compare_waits(TREATED, PLACEBO)
    assert statistic == pytest.approx(16.79294, abs=5e-6)
    assert p == pytest.approx(math.erfc(math.sqrt(statistic / 2.0)))


def test_waits_that_all_ended_early_have_no_median():
    found = survival_of([Wait(30, False), Wait(60, False)])
    assert (found.n_happened, found.median_s, found.at(60)) == (0, None, 1.0)
    assert compare_waits([Wait(30, False)], [Wait(60, False)]) == (0.0, 1.0)


def test_limits_hold_the_share_between_them():
    found = survival_of(WAITS)
    inside = found.share > 0
    assert (found.low[inside] < found.share[inside]).all()
    assert (found.share[inside] < found.high[inside]).all()


@pytest.mark.parametrize("waits", [[], [Wait(0, True)], [Wait(math.nan, False)]])
def test_waits_that_cannot_be_are_refused(waits):
    with pytest.raises(InvalidInput):
        survival_of(waits)


def test_limits_are_greenwoods_on_the_complementary_log_scale():
    # The share's own error by statsmodels (Greenwood), carried to log(-log S): S^exp(±1.96 se ÷ (S |log S|)).
    found = survival_of(WAITS)
    theirs = SurvfuncRight([wait.seconds for wait in WAITS], [float(wait.happened) for wait in WAITS])
    inside = found.share > 0
    share, error = theirs.surv_prob[inside], theirs.surv_prob_se[inside]
    assert found.share[inside] == pytest.approx(share)
    reach = norm.ppf(0.975) * error / (share * np.abs(np.log(share)))
    assert found.low[inside] == pytest.approx(share ** np.exp(reach))
    assert found.high[inside] == pytest.approx(share ** np.exp(-reach))
