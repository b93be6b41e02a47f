"""Time to elimination against other programs' figures, closed forms and Monte Carlo.

Figures of lifelines 0.30.3, scikit-survival 0.28.0 and statsmodels 0.15.0 for eighteen made-up times (R36 to R42 of the
list of reference values), and those programs themselves where .venv-checks is there. The limits of a rate are Garwood's
(1936, Biometrika 28, 437-442; points printed by Ulm 1990, Am J Epidemiol 131, 373-375).
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.special import polygamma
from scipy.stats import CensoredData, weibull_min

from pupilage.cli.checks_environment import ask
from pupilage.core.care.toilet import opportunity
from pupilage.core.care.toilet.curve import CELLS, OWN_EVENTS, POWER, Curve, Doing, Need, Span
from pupilage.core.care.toilet.hazards import PULL, Hazards
from pupilage.core.care.toilet.opportunity import Wait
from pupilage.core.care.toilet.rates import Rates, time_at_risk
from pupilage.core.garwood import rate_limits

EVENTS = [35, 42, 50, 55, 60, 62, 70, 75, 80, 90, 95, 110, 120, 140]
CENSORED = [45, 65, 100, 30]
TIMES = np.array(EVENTS + CENSORED, dtype=float)
CAME = np.array([True] * len(EVENTS) + [False] * len(CENSORED))
ENTRY = np.array([0, 0, 10, 20, 0, 30, 0, 5, 0, 0, 15, 0, 0, 25, 0, 0, 0, 0], dtype=float)
CUTS = np.array([0.0, 45.0, 60.0, 90.0, np.inf])
OFF_THE_CUTS = np.where(np.isin(TIMES, CUTS[1:4]), TIMES + 1.0, TIMES)
HAZARDS = [0.00255754, 0.01020408, 0.02145923, 0.04310345]
BESIDE = Path(__file__).resolve().parent.parent / "beside"


def minutes_in_cells(minutes) -> np.ndarray:
    """Return how many minutes of a time fall into each cell."""
    return np.clip(np.asarray(minutes)[..., None] - CUTS[:-1], 0.0, np.diff(CUTS))


EXPOSURE = minutes_in_cells(OFF_THE_CUTS).sum(axis=0)
N_EVENTS = np.histogram(OFF_THE_CUTS[CAME], CUTS)[0].astype(float)
NOTHING_KNOWN = Rates(np.full(4, 1e-9), np.full(4, 1e-9))


def test_hazards_of_cells_are_events_over_exposure():
    # R41
    assert N_EVENTS.tolist() == [2, 2, 5, 5]
    assert EXPOSURE.tolist() == [782, 196, 233, 116]
    found = NOTHING_KNOWN.after(N_EVENTS, EXPOSURE).mean
    assert found == pytest.approx(HAZARDS, abs=5e-9)
    log_likelihood = np.sum(N_EVENTS * np.log(found) - found * EXPOSURE)
    assert log_likelihood == pytest.approx(-70.036114, abs=1e-6)


def test_hazards_of_cells_are_those_of_a_poisson_regression():
    import statsmodels.api as sm

    minutes = minutes_in_cells(OFF_THE_CUTS)
    subject, cell = np.nonzero(minutes)
    last = cell == np.searchsorted(CUTS, OFF_THE_CUTS[subject]) - 1
    came = (last & CAME[subject]).astype(float)
    offset = np.log(minutes[subject, cell])
    fit = sm.GLM(came, np.eye(4)[cell], family=sm.families.Poisson(), offset=offset).fit()
    found = NOTHING_KNOWN.after(N_EVENTS, EXPOSURE).mean
    assert found == pytest.approx(np.exp(fit.params), rel=1e-6)


PRIOR = Rates(150.0 * np.array([0.004, 0.012, 0.02, 0.03]), np.full(4, 150.0))


@pytest.mark.parametrize(("risk", "minutes"), [(0.02, 7.2701), (0.05, 18.5692), (0.10, 38.5434), (0.20, 54.2769)])
def test_next_outing_at_a_risk_is_the_printed_minute(risk, minutes):
    # R42: prior worth 150 minutes in each cell, and the data of R41
    known = PRIOR.after(N_EVENTS, EXPOSURE)

    def p_event(after: float) -> float:
        return float(-np.expm1(known.log_survival(minutes_in_cells(after))))

    assert time_at_risk(p_event, risk, longest_min=1440.0) == pytest.approx(minutes, abs=1e-4)


def test_predictive_survival_is_the_mean_over_drawn_hazards():
    # R42: S(38.54) is .90009 by Monte Carlo with 400,000 draws; ours below with an error of 0.00003
    known = PRIOR.after(N_EVENTS, EXPOSURE)
    survival = float(np.exp(known.log_survival(minutes_in_cells(38.54))))
    assert survival == pytest.approx(0.90009, abs=1e-4)
    drawn = np.random.default_rng(1).gamma(known.shape, 1.0 / known.worth, (200_000, 4))
    each = np.exp(-drawn @ minutes_in_cells(38.54))
    assert survival == pytest.approx(each.mean(), abs=4.0 * each.std() / np.sqrt(len(each)))


def test_cumulative_hazard_is_nelson_and_aalen_s():
    # R37: with a cell between any two times nothing but the number at risk is left
    edges = np.unique(np.concatenate([[0.0], TIMES]))
    widths = np.diff(edges)
    exposure = np.clip(TIMES[:, None] - edges[:-1], 0.0, widths).sum(axis=0)
    n_events = np.array([np.sum(CAME & (edge == TIMES)) for edge in edges[1:]], dtype=float)
    flat = np.full(len(widths), 1e-9)
    hazards = Rates(flat, flat).after(n_events, exposure).mean
    cumulative = dict(zip(edges[1:].tolist(), np.cumsum(hazards * widths).tolist(), strict=True))
    assert cumulative[60.0] == pytest.approx(0.3530085111, abs=1e-6)
    assert cumulative[90.0] == pytest.approx(0.9895525227, abs=1e-6)


@pytest.mark.parametrize(
    ("scale", "power", "entry"), [(91.928378, 2.956222, 0.0 * ENTRY), (91.639593, 2.917942, ENTRY)]
)
def test_factor_of_a_weibull_curve_is_one_at_its_greatest_likelihood(scale, power, entry):
    # R38 and R40 (lifelines, right-censored and left-truncated): events over what the curve expected
    exposure = np.sum((TIMES / scale) ** power - (entry / scale) ** power)
    own = Rates(np.array([1e-9]), np.array([1e-9])).after(np.array([14.0]), np.array([exposure])).mean
    assert own[0] == pytest.approx(1.0, abs=2e-6)


def test_scipy_finds_the_same_weibull_and_interval_censored_figures():
    # R38, R39: so that the fits with a fixed shape below stand on a program that agrees with lifelines
    power, _, scale = weibull_min.fit(CensoredData(uncensored=TIMES[CAME], right=TIMES[~CAME]), floc=0)
    assert (scale, power) == (pytest.approx(91.928378, rel=1e-3), pytest.approx(2.956222, rel=1e-3))
    low = [30, 40, 45, 50, 60, 60, 75, 80, 90]
    high = [45, 60, 60, 75, 70, 90, 95, 110, 120]
    data = CensoredData(interval=np.array([low, high], dtype=float).T, right=[100.0])
    power, _, scale = weibull_min.fit(data, floc=0)
    assert (scale, power) == (pytest.approx(81.979402, rel=1e-3), pytest.approx(3.467456, rel=1e-3))


def test_curve_s_own_factor_is_that_of_a_weibull_fit_of_shape_3():
    curve = Curve(10.0)
    unit = curve.scale_min(Need.WEE, Doing.AWAKE)
    expected = 0.0
    for minutes in TIMES:
        cells = [0.0] * len(CELLS)
        curve.add_exposure(cells, Need.WEE, Doing.AWAKE, Span(0.0, float(minutes)))
        expected += sum(cells)
    _, _, scale = weibull_min.fit(CensoredData(uncensored=TIMES[CAME], right=TIMES[~CAME]), fc=3, floc=0)
    assert 14.0 / expected == pytest.approx((unit / scale) ** 3, rel=1e-4)


def test_successes_and_empty_trips_are_read_as_a_weibull_fit_of_intervals_reads_them(monkeypatch):
    # A success at t says that the pup would have gone before t · PULL^(1/3), an empty trip without distraction that it
    # would not. Read again and again, our one pass comes to rest at the greatest likelihood of SciPy's fit. The urge at
    # the outing itself, which the other witness knows, is made as good as 0.
    monkeypatch.setattr(opportunity, "P_DISTRACTED", 1e-12)
    unit, reach = 125.0, PULL ** (1.0 / 3.0)
    success, nothing = np.array([20.0, 25.0, 35.0, 45.0, 60.0]), np.array([15.0, 18.0, 24.0, 30.0])
    flat = Rates(np.full(1, 1e12), np.full(1, 1e12))
    hazards = Hazards(1e-3, 1e-3, 1e-9, 1e9, flat)

    def read(learn: opportunity.Learn, wait: Wait) -> Hazards:
        learned = learn(hazards, wait)
        return Hazards(learned.told_shape, learned.told_worth, 1e-9, 1e9, flat)

    for _ in range(400):
        for minute in success:
            hazards = read(opportunity.after_success, Wait(np.array([(minute / unit) ** 3])))
        for minute in nothing:
            empty = opportunity.with_empty_trip(hazards, Wait(np.array([(minute / unit) ** 3])))
            hazards = read(opportunity.after_nothing, empty)
    intervals = np.stack([np.full_like(success, 1e-9), success * reach], axis=1)
    _, _, scale = weibull_min.fit(CensoredData(interval=intervals, right=nothing * reach), fc=3, floc=0)
    assert float(hazards.told) == pytest.approx((unit / scale) ** 3, rel=0.01)


def test_empty_trip_leaves_the_chance_that_bayes_rule_leaves():
    # Monte Carlo of the story itself: a limit, an empty trip, and whether the pup goes by itself before a later minute.
    rng = np.random.default_rng(2)
    own, first, later = 1.0, 0.02, 0.3
    limits = rng.exponential(size=400_000)
    distracted = rng.uniform(size=len(limits)) < opportunity.P_DISTRACTED
    waited = (limits > own * first) & (distracted | (limits > PULL * own * first))
    gone = np.mean(limits[waited] <= own * later)
    sure = Rates(np.full(1, 1e12), np.full(1, 1e12))
    hazards = Hazards(1e9, 1e9, 1e9, 1e9, sure)
    wait = opportunity.with_empty_trip(hazards, Wait(np.array([first])))
    log_ratio = opportunity.log_waiting(hazards, wait, later) - opportunity.log_waiting(hazards, wait, first)
    error = np.sqrt(gone * (1.0 - gone) / waited.sum())
    assert -np.expm1(log_ratio) == pytest.approx(gone, abs=4.0 * error)


def test_prior_of_the_own_factor_is_as_wide_as_the_scales_of_pups():
    # the log of a Gamma of shape a has variance trigamma(a); scales differ by 35 % and hazards go by their cube
    assert np.sqrt(polygamma(1, OWN_EVENTS)) == pytest.approx(POWER * 0.35, abs=0.005)


GARWOOD = {
    0: (0.0000, 3.6889), 1: (0.0253, 5.5716), 2: (0.2422, 7.2247), 3: (0.6187, 8.7673), 4: (1.0899, 10.2416),
    5: (1.6235, 11.6683), 6: (2.2019, 13.0595), 7: (2.8144, 14.4227), 8: (3.4538, 15.7632), 9: (4.1154, 17.0848),
    10: (4.7954, 18.3904), 15: (8.3954, 24.7402), 20: (12.2165, 30.8884), 25: (16.1787, 36.9049),
}  # fmt: skip


@pytest.mark.parametrize("n", GARWOOD)
def test_limits_of_a_rate_are_garwood_s(n):
    assert rate_limits(n, 1.0) == (pytest.approx(GARWOOD[n][0], abs=5.1e-5), pytest.approx(GARWOOD[n][1], abs=5.1e-5))


@pytest.mark.parametrize(
    ("n", "days", "low", "high"), [(3, 7.0, 0.088, 1.252), (0, 14.0, 0.0, 0.263), (0, 28.0, 0.0, 0.132)]
)
def test_rates_of_a_stay_have_the_printed_limits(n, days, low, high):
    assert rate_limits(n, days) == (pytest.approx(low, abs=6e-4), pytest.approx(high, abs=6e-4))


@pytest.mark.usefixtures("other_programs")
def test_hazards_are_those_of_lifelines_and_scikit_survival_now():
    told = ask(BESIDE / "survival_fits.py", ",".join(map(str, TIMES)), ",".join(str(int(came)) for came in CAME))
    found = NOTHING_KNOWN.after(N_EVENTS, EXPOSURE).mean
    assert told["piecewise"] == pytest.approx(found.tolist(), rel=1e-4)
    assert told["cumulative"] == pytest.approx([0.3530085111, 0.9895525227], abs=1e-9)
    assert told["kaplan_meier"] == pytest.approx([0.6932773109, 0.4901960784, 0.3501400560], abs=1e-9)
    assert told["weibull"] == pytest.approx([91.928378, 2.956222], rel=1e-5)
