"""What a recording may be used for is decided by its noise, its speech and its clipping, with the reason in words."""

import numpy as np
import pytest

from pupilage.core.recordings.noises.quality import QualityMeter
from pupilage.core.recordings.noises.speech_runs import (
    LevelMeter,
    as_events,
    closed_up,
    long_talk,
    runs_of_speech,
    share_of,
)
from pupilage.core.simulation.sounds.tones import at_level
from pupilage.core.simulation.sounds.voices import Voice

RATE_HZ = 16_000


def talked(speech_dbfs, noise_dbfs, runs, *, duration_s=40.0, seed=1):
    """Return white noise with talk in the runs given, each at its level."""
    rng = np.random.default_rng(seed)
    samples = at_level(rng.standard_normal(int(duration_s * RATE_HZ)), noise_dbfs)
    for start_s, end_s in runs:
        talk = at_level(Voice(140.0, 1.0, 4.5, 0.05).talk(end_s - start_s, rng, rate_hz=RATE_HZ), speech_dbfs)
        samples[int(start_s * RATE_HZ) :][: len(talk)] += talk
    return samples


def judged(samples, runs=None):
    meter = QualityMeter()
    for at in range(0, len(samples), 7001):
        meter.feed(samples[at : at + 7001])
    return meter.finish(runs)


RUNS = [(5.0, 8.0), (15.0, 19.0), (30.0, 33.0)]


def test_clear_speech_in_a_quiet_room_is_good_enough():
    quality = judged(talked(-26, -60, RUNS), RUNS)
    assert not quality.suggestions_only
    assert quality.speech_share == pytest.approx(0.25)
    assert quality.over_noise_db > 20


def test_speech_near_the_noise_gives_suggestions_only_and_says_by_how_much():
    quality = judged(talked(-26, -28, RUNS), RUNS)
    assert quality.suggestions_only
    assert "dB above the noise" in str(quality.reasons[0])


def test_speech_most_of_the_time_gives_suggestions_only():
    quality = judged(talked(-26, -60, [(1.0, 39.0)]), [(1.0, 39.0)])
    assert "95\N{NO-BREAK SPACE}% of the recording is speech" in str(quality.reasons[0])


def test_clipping_is_counted_and_told():
    samples = np.clip(10 * talked(-16, -60, RUNS), -1, 1)
    quality = judged(samples, RUNS)
    assert quality.clipped_share > 0.01
    assert any("cut off" in str(reason) for reason in quality.reasons)


def test_a_recording_of_half_a_second_is_not_judged():
    quality = judged(np.zeros(8000, np.float32))
    assert quality.noise_dbfs is None
    assert quality.over_noise_db is None
    assert "too short" in str(quality.reasons[0])


def test_runs_by_energy_lie_where_the_talk_is():
    samples = talked(-26, -60, RUNS)
    meter = LevelMeter()
    meter.feed(samples)
    meter.finish()
    inside = sum(
        min(end_s, b) - max(start_s, a) for start_s, end_s in meter.runs() for a, b in RUNS if start_s < b and end_s > a
    )
    assert inside == pytest.approx(10.0, abs=3.0)  # the talk itself has breaths
    assert sum(end_s - start_s for start_s, end_s in meter.runs()) - inside < 0.5


def test_runs_are_joined_over_short_pauses_and_blips_are_dropped():
    p = np.zeros(100)
    p[10:20] = p[24:40] = 0.9
    p[60] = 0.9
    assert runs_of_speech(p, 0.05) == [(0.5, 2.0)]
    assert closed_up([(3.0, 4.0), (0.0, 1.0), (0.5, 0.7)], 0.1) == [(0.0, 1.0), (3.0, 4.0)]


def test_long_runs_are_talk_unless_speech_is_the_background():
    runs = [(0.0, 1.0), (5.0, 8.0)]
    assert long_talk(runs, 40.0) == [(5.0, 8.0)]
    assert long_talk([(0.0, 25.0)], 40.0) == []
    assert share_of(runs, 40.0) == pytest.approx(0.1)
    assert share_of([], 0.0) == 0.0
    assert [event.kind for event in as_events(runs)] == ["talk", "talk"]
