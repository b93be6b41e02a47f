"""What the shipped weights are learned from: made sounds with their truth, cut into what each model looks at."""

from functools import partial

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from pupilage.core.recordings.noises.bursts import RATE_HZ as BURST_RATE_HZ
from pupilage.core.recordings.noises.bursts import Burst
from pupilage.core.recordings.noises.clicks import click_features, learn_click
from pupilage.core.recordings.noises.dogs import Embed, describe
from pupilage.core.recordings.noises.logistic import Logistic, fit_logistic
from pupilage.core.recordings.noises.tones import Tone, find_tones
from pupilage.core.recordings.noises.transients import Transient, find_transients
from pupilage.core.recordings.noises.whistles import learn_whistle, whistle_features
from pupilage.core.simulation.sounds.dogs import Dog
from pupilage.core.simulation.sounds.households import bang
from pupilage.core.simulation.sounds.scenes import (
    SPEECH_DBFS,
    Background,
    Scene,
    background,
    click_session,
    home_alone,
    samples_of,
    session,
    whistle_session,
)
from pupilage.core.simulation.sounds.trainers import Clicker, Whistle

RATE_HZ = 32_000
N_CLICKERS = N_WHISTLES = 120
N_DOGS = 100
SESSION_S = 30.0
HOME_S = 75.0
HOMES = (
    Background.QUIET,
    Background.TELEVISION,
    Background.BABBLE,
    Background.TELEVISION,
    Background.PINK,
)
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
        sound = learn_click(samples_of(partial(clicker.press, rate_hz=rate_hz), 3, rng, rate_hz=rate_hz), rate_hz)
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
        sound = learn_whistle("", samples_of(partial(whistle.blow, rate_hz=rate_hz), 3, rng, rate_hz=rate_hz), rate_hz)
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


def bursts(*, seed: int) -> dict[str, Logistic]:
    """Return the weights of barks and whines without an embedding, from made dogs at home and in sessions."""
    return {"burst": _dogs(None, seed=seed, pull=1e-3)}


def dog_voices(embed: Embed, *, seed: int) -> dict[str, Logistic]:
    """Return the weights of barks and whines for bursts with the speech embedding."""
    return {"voice": _dogs(embed, seed=seed, pull=1e-2)}


def _dogs(embed: Embed | None, *, seed: int, pull: float) -> Logistic:
    rng = np.random.default_rng(seed)
    rows, truth = [], []
    for number in range(N_DOGS):
        dog = Dog.drawn(rng)
        behind = _home_background(HOMES[number % len(HOMES)], rng)
        scene = home_alone(dog, behind, rng, rate_hz=BURST_RATE_HZ)
        if number % 4 == 0:
            scene = session(partial(bang, rate_hz=BURST_RATE_HZ), "", behind, rng, rate_hz=BURST_RATE_HZ)
        found, features = describe(scene.samples, embed)
        rows.append(features)
        truth.append(dogs_told_apart(found, scene))
    classes = np.concatenate(truth)
    kept = classes >= 0
    each = (1.0 / np.sqrt(np.bincount(classes[kept], minlength=3)))[classes[kept]]
    return fit_logistic(np.vstack(rows)[kept], classes[kept], n_classes=3, pull=pull, each=np.asarray(each, float))


def _home_background(kind: Background, rng: Generator) -> NDArray[np.float32]:
    """Return a home's background, in one of three through a small loudspeaker that ends between 3 and 6 kHz."""
    behind = background(kind, HOME_S, rng.uniform(-62, -38), rng, rate_hz=BURST_RATE_HZ)
    if rng.random() < 1 / 3:
        sos = butter(4, rng.uniform(3000, 6000) / (BURST_RATE_HZ / 2), output="sos")
        behind = np.asarray(sosfilt(sos, behind), np.float32)
    return behind


def dogs_told_apart(found: list[Burst], scene: Scene) -> NDArray[np.int64]:
    """Return 1 for each burst that lies in a bark, 2 in a whine, 0 for another, −1 where that is not clear."""
    numbers = {"bark": 1, "whine": 2}
    classes = []
    for one in found:
        first_s, last_s = one.place / BURST_RATE_HZ, (one.place + one.n) / BURST_RATE_HZ
        shares = [
            (max(0.0, min(last_s, end_s + 0.05) - max(first_s, start_s - 0.03)) / (last_s - first_s), numbers[kind])
            for kind, start_s, end_s in scene.truths
            if start_s < last_s and end_s + 0.3 > first_s
        ]
        share, kind = max(shares, default=(0.0, 0))
        near = bool(shares)
        classes.append(kind if share > 0.5 else -1 if near else 0)
    return np.array(classes, np.int64)
