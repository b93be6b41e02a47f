"""What the detectors of noises rest on, against the reference libraries and published formulas."""

import numpy as np
import pytest
import statsmodels.api as sm
from scipy.optimize import linear_sum_assignment
from scipy.signal import chirp, freqz, welch

from pupilage.core.recordings.noises.bursts import RATE_HZ, band_powers
from pupilage.core.recordings.noises.logistic import drawn_towards, fit_logistic
from pupilage.core.recordings.noises.quality import QualityMeter
from pupilage.core.recordings.noises.tones import find_tones
from pupilage.core.simulation.sounds.scoring import match
from pupilage.core.simulation.sounds.tones import pink, resonance


def made_rows(n_classes, seed=5, n=400):
    rng = np.random.default_rng(seed)
    x = rng.normal(1.0, 2.0, (n, 3))
    score = x @ rng.normal(0, 0.6, (3, n_classes))
    if n_classes == 1:
        return x, (rng.random(n) < 1 / (1 + np.exp(-score[:, 0]))).astype(np.int64)
    p = np.exp(score - score.max(axis=1, keepdims=True))
    p /= p.sum(axis=1, keepdims=True)
    return x, np.array([rng.choice(n_classes, p=row) for row in p])


def test_weights_without_a_pull_are_those_of_statsmodels():
    """statsmodels 0.15, Logit.fit (maximum likelihood)."""
    x, y = made_rows(1)
    ours = fit_logistic(x, y, n_classes=1, pull=0.0, each=np.ones(len(y)))
    theirs = sm.Logit(y, sm.add_constant(x)).fit(disp=False, tol=1e-10)
    np.testing.assert_allclose(ours.weights[:, 0] / ours.scale, theirs.params[1:], rtol=2e-4)
    np.testing.assert_allclose(ours.chances(x)[:, 0], theirs.predict(), atol=1e-4)


def test_chances_of_three_classes_are_those_of_statsmodels():
    """statsmodels 0.15, MNLogit.fit."""
    x, y = made_rows(3)
    ours = fit_logistic(x, y, n_classes=3, pull=1e-9, each=np.ones(len(y)))
    theirs = sm.MNLogit(y, sm.add_constant(x)).fit(disp=False, tol=1e-10)
    np.testing.assert_allclose(ours.chances(x), theirs.predict(), atol=2e-4)


def test_the_pull_is_the_ridge_penalty_of_statsmodels():
    """statsmodels 0.15, GLM.fit_regularized(L1_wt=0): −loglik/n + α/2 ‖w‖², the constant free."""
    x, y = made_rows(1)
    pull = 0.05
    ours = fit_logistic(x, y, n_classes=1, pull=pull, each=np.ones(len(y)))
    standard = (x - ours.mean) / ours.scale
    model = sm.GLM(y, sm.add_constant(standard), family=sm.families.Binomial())
    theirs = model.fit_regularized(alpha=np.array([0.0, pull, pull, pull]), L1_wt=0.0)
    np.testing.assert_allclose(ours.weights[:, 0], theirs.params[1:], rtol=1e-3)


def test_weights_drawn_hard_towards_a_prior_stay_there():
    """Limit of the penalty: with an endless pull the prior's weights are kept (le Cessie and van Houwelingen 1992)."""
    x, y = made_rows(3)
    prior = fit_logistic(x[:200], y[:200], n_classes=3, pull=1e-3, each=np.ones(200))
    held = drawn_towards(prior, x[200:], y[200:], pull=1e6, each=np.ones(200), bias_pull=1e6)
    np.testing.assert_allclose(held.weights, prior.weights, atol=1e-5)
    np.testing.assert_allclose(held.bias, prior.bias, atol=1e-5)


def test_band_powers_are_those_of_welch():
    """scipy.signal.welch (Welch 1967), power spectral density added up over each band."""
    noise = np.random.default_rng(1).normal(0, 0.1, 20 * RATE_HZ).astype(np.float32)
    frequencies, density = welch(noise, RATE_HZ, window="hann", nperseg=512, noverlap=352)
    from pupilage.core.recordings.noises.bursts import EDGES_HZ

    edges = np.searchsorted(frequencies, EDGES_HZ)
    theirs = np.add.reduceat(density, edges)[:-1] * frequencies[1]
    np.testing.assert_allclose(2 * band_powers(noise).mean(axis=0), theirs, rtol=0.01)


def test_the_noise_level_of_a_sine_is_its_mean_square():
    """Amplitude a has the mean square a²/2: −23.01 dB of full scale at a = 0.1 (textbook formula)."""
    t = np.arange(20 * RATE_HZ) / RATE_HZ
    meter = QualityMeter()
    meter.feed((0.1 * np.sin(2 * np.pi * 1000 * t)).astype(np.float32))
    assert meter.finish([]).noise_dbfs == pytest.approx(-23.01, abs=0.1)


def test_the_course_of_a_tone_is_that_of_scipys_chirp():
    """scipy.signal.chirp, linear: f(t) = f0 + (f1 − f0)·t/T."""
    rate_hz = 32_000
    t = np.arange(rate_hz) / rate_hz
    sweep = chirp(t, 2000, 1.0, 3000)
    silence = np.zeros(rate_hz // 2)
    tone = find_tones(np.concatenate([silence, sweep, silence]).astype(np.float32), rate_hz)[0]
    assert tone.place / rate_hz == pytest.approx(0.5, abs=0.01)
    hz = 2000 * np.exp(tone.course)
    np.testing.assert_allclose(hz, np.linspace(2000, 3000, 8), rtol=0.008)


def test_pink_noise_falls_by_three_decibels_an_octave():
    """Definition of pink noise: power density ∝ 1/f."""
    noise = pink(2**19, np.random.default_rng(2))
    frequencies, density = welch(noise, 1.0, nperseg=4096)
    kept = (frequencies > 0.005) & (frequencies < 0.4)
    slope = np.polyfit(np.log2(frequencies[kept]), 10 * np.log10(density[kept]), 1)[0]
    assert slope == pytest.approx(-3.01, abs=0.03)  # 260 bins of 250 averages: standard error 0.01


def test_a_resonance_peaks_with_unit_gain_where_it_should():
    """Smith, Introduction to Digital Filters (2007), two-pole resonator; response by scipy.signal.freqz."""
    impulse = np.zeros(8192)
    impulse[0] = 1.0
    heard = resonance(impulse, 1000.0, 80.0, 16_000)
    frequencies, response = freqz(heard, worN=2**15, fs=16_000)
    assert frequencies[np.abs(response).argmax()] == pytest.approx(1000.0, rel=0.01)
    assert np.abs(response).max() == pytest.approx(1.0, rel=0.01)


def test_pairs_of_found_and_true_are_as_many_as_an_optimal_assignment_gives():
    """scipy.optimize.linear_sum_assignment (Hungarian method), times apart as in real use."""
    rng = np.random.default_rng(6)
    for _ in range(50):
        true = np.cumsum(rng.uniform(0.5, 2.0, 12))
        found = np.sort(
            np.concatenate([rng.choice(true, 8, replace=False) + rng.normal(0, 0.1, 8), rng.uniform(0, 15, 5)])
        )
        gaps = np.abs(np.subtract.outer(found, true))
        rows, columns = linear_sum_assignment(np.where(gaps <= 0.2, gaps, 1e3))
        assert match(found, true, 0.2).n_right == int((gaps[rows, columns] <= 0.2).sum())
