"""What the shipped weights are learned from: made sounds with their truth, cut into what each model looks at."""

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.recordings.noises.clicks import click_features, learn_click
from pupilage.core.recordings.noises.logistic import Logistic, fit_logistic
from pupilage.core.recordings.noises.tones import Tone, find_tones
from pupilage.core.recordings.noises.transients import Transient, find_transients
from pupilage.core.recordings.noises.whistles import learn_whistle, whistle_features
from pupilage.core.simulation.sounds.scenes import (
    SPEECH_DBFS,
    Background,
    Scene,
    background,
    click_session,
    samples_of,
    whistle_session,
)
from pupilage.core.simulation.sounds.trainers import Clicker, Whistle

RATE_HZ = 32_000
N_CLICKERS = N_WHISTLES = 120
SESSION_S = 30.0
NOISE_DB = (4.0, 30.0)
"""The backgrounds lie this far under speech, drawn evenly."""

Array = NDArray[np.float64]


def some_background(duration_s: float, rng: Generator, *, rate_hz: int) -> NDArray[np.float32]:
    """Return a background of a kind and level drawn at random."""
    kind = list(Background)[int(rng.integers(len(Background)))]
    return background(kind, duration_s, SPEECH_DBFS - rng.uniform(*NOISE_DB), rng, rate_hz=rate_hz)


def clicks(*, seed: int) -> dict[str, Logistic]:
    """Return the weights of clicks, learned ones and any: 120 clickers, a session each, at 32 and 16 kHz by turns."""
    rng = np.random.default_rng(seed)
    plain, near, truth = [], [], []
    for number in range(N_CLICKERS):
        rate_hz = RATE_HZ if number % 2 else RATE_HZ // 2
        clicker = Clicker.drawn(rng)
        sound = learn_click(
            samples_of(lambda r, c=clicker, hz=rate_hz: c.press(r, rate_hz=hz), 3, rng, rate_hz=rate_hz), rate_hz
        )
        behind = some_background(SESSION_S, rng, rate_hz=rate_hz)
        scene = click_session(clicker, behind, rng, rate_hz=rate_hz)
        found, is_click = told_apart(scene)
        plain.append(click_features(found, None))
        near.append(click_features(found, sound))
        truth.append(is_click)
    classes = np.concatenate(truth)
    each = np.ones(len(classes))
    return {
        "click": fit_logistic(np.vstack(plain), classes, n_classes=1, pull=1e-4, each=each),
        "click_learned": fit_logistic(np.vstack(near), classes, n_classes=1, pull=1e-4, each=each),
    }


def told_apart(scene: Scene) -> tuple[list[Transient], NDArray[np.int64]]:
    """Return a session's transients with 1 for the press of a click, 0 for another sound; releases are left out."""
    kept, classes = [], []
    for one in find_transients(scene.samples, scene.rate_hz):
        at_s = one.place / scene.rate_hz
        if any(abs(at_s - start_s) < 0.005 for _, start_s, _ in scene.truths):
            kept.append(one)
            classes.append(1)
        elif not any(start_s < at_s < start_s + 0.4 for _, start_s, _ in scene.truths):
            kept.append(one)
            classes.append(0)
    return kept, np.array(classes, np.int64)


def whistles(*, seed: int) -> dict[str, Logistic]:
    """Return the weights of whistles, learned ones and any; every third whistle sounded is another person's."""
    rng = np.random.default_rng(seed)
    plain, near, truth, any_truth = [], [], [], []
    for number in range(N_WHISTLES):
        rate_hz = RATE_HZ if number % 2 else RATE_HZ // 2
        whistle, other = Whistle.drawn(rng), Whistle.drawn(rng)
        sound = learn_whistle(
            "", samples_of(lambda r, w=whistle, hz=rate_hz: w.blow(r, rate_hz=hz), 3, rng, rate_hz=rate_hz), rate_hz
        )
        mine = number % 3 > 0
        behind = some_background(SESSION_S, rng, rate_hz=rate_hz)
        scene = whistle_session(whistle if mine else other, behind, rng, rate_hz=rate_hz)
        found, is_whistle = whistles_told_apart(scene)
        plain.append(whistle_features(found, None))
        near.append(whistle_features(found, sound))
        any_truth.append(is_whistle)
        truth.append(is_whistle * mine)
    classes, mine_only = np.concatenate(any_truth), np.concatenate(truth)
    each = np.ones(len(classes))
    return {
        "whistle": fit_logistic(np.vstack(plain), classes, n_classes=1, pull=1e-4, each=each),
        "whistle_learned": fit_logistic(np.vstack(near), mine_only, n_classes=1, pull=1e-4, each=each),
    }


def whistles_told_apart(scene: Scene) -> tuple[list[Tone], NDArray[np.int64]]:
    """Return a session's tones with 1 for a whistle near its start, 0 for another; its later pieces left out."""
    kept, classes = [], []
    for one in find_tones(scene.samples, scene.rate_hz):
        at_s = one.place / scene.rate_hz
        if any(abs(at_s - start_s) < 0.05 for _, start_s, _ in scene.truths):
            kept.append(one)
            classes.append(1)
        elif not any(start_s - 0.1 < at_s < end_s + 0.1 for _, start_s, end_s in scene.truths):
            kept.append(one)
            classes.append(0)
    return kept, np.array(classes, np.int64)
