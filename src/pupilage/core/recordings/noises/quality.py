"""How good a recording is, before anything found in it is shown as more than a suggestion."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pupilage.core.recordings.noises.bursts import HOP_S
from pupilage.core.recordings.noises.speech_runs import MOST_SPEECH, LevelMeter, Run, share_of
from pupilage.core.recordings.noises.stretches import Samples
from pupilage.core.words import Sentence, sentence

LEAST_OVER_NOISE_DB = 10.0
"""Below this the words found are right too seldom (measured on made voices; the limit is our choice)."""
MOST_CLIPPED = 0.001
CLIPPED_AT = 0.985
LEAST_LENGTH_S = 1.0
LEAST_SPEECH_S = 1.0


@dataclass(frozen=True)
class Quality:
    """The figures of one recording. Levels in dB of full scale; None where there was too little to tell.

    speech_share, clipped_share: 0 to 1. reasons: why it carries suggestions only; empty when it is good enough.
    """

    duration_s: float
    noise_dbfs: float | None
    speech_dbfs: float | None
    speech_share: float
    clipped_share: float
    reasons: tuple[Sentence, ...]

    @property
    def over_noise_db(self) -> float | None:
        """How far speech stands over the noise, in dB."""
        if self.noise_dbfs is None or self.speech_dbfs is None:
            return None
        return self.speech_dbfs - self.noise_dbfs

    @property
    def suggestions_only(self) -> bool:
        """Whether rates and latencies must be held back until each event is confirmed."""
        return bool(self.reasons)


class QualityMeter:
    """Takes sound at 16 kHz block by block; with the runs of speech it gives the figures at the end."""

    def __init__(self) -> None:
        self.levels = LevelMeter()
        self._n = self._n_clipped = 0

    def feed(self, block: Samples) -> None:
        """Take a block of samples in −1..1."""
        self._n += len(block)
        self._n_clipped += int(np.count_nonzero(np.abs(block) >= CLIPPED_AT))
        self.levels.feed(block)

    def finish(self, runs: Sequence[Run] | None = None, *, rate_hz: int = 16_000) -> Quality:
        """Return the figures. runs: those of a speech model; without, those of energy above the floor.

        **Model** noise = the level in the quietest 20 % of the frames outside speech (all frames where speech is
        everywhere), speech = the median level of the frames in speech, its noise taken off in power.
        """
        self.levels.finish()
        level = self.levels.level_db.astype(float)
        duration_s = self._n / rate_hz
        runs = self.levels.runs() if runs is None else runs
        spoken = in_runs(runs, len(level))
        quiet = level[~spoken] if (~spoken).sum() * HOP_S >= LEAST_LENGTH_S else level
        noise = float(np.quantile(quiet, 0.2)) if len(level) * HOP_S >= LEAST_LENGTH_S else None
        speech = None
        if noise is not None and spoken.sum() * HOP_S >= LEAST_SPEECH_S:
            own = 10 ** (float(np.median(level[spoken])) / 10) - 10 ** (noise / 10)
            speech = float(10 * np.log10(max(own, 10 ** (noise / 10) * 0.01)))
        share, clipped = share_of(runs, duration_s), self._n_clipped / max(self._n, 1)
        return Quality(duration_s, noise, speech, share, clipped, _reasons(noise, speech, share, clipped))


def in_runs(runs: Sequence[Run], n_frames: int) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
    """Return which frames of 10 ms lie in one of the runs."""
    spoken = np.zeros(n_frames, np.bool_)
    for start_s, end_s in runs:
        spoken[round(start_s / HOP_S) : round(end_s / HOP_S)] = True
    return spoken


def _reasons(noise: float | None, speech: float | None, share: float, clipped: float) -> tuple[Sentence, ...]:
    reasons = []
    if noise is None:
        reasons.append(sentence("The recording is too short to judge: what is found are suggestions only."))
    elif speech is not None and speech - noise < LEAST_OVER_NOISE_DB:
        over = speech - noise
        reasons.append(
            sentence(
                "Speech stands only {over:.0f} dB above the noise ({least:.0f} dB are needed): what is found are "
                "suggestions only. Next time put the phone nearer, or wear a microphone.",
                over=over,
                least=LEAST_OVER_NOISE_DB,
            )
        )
    if share >= MOST_SPEECH:
        reasons.append(
            sentence(
                "{share:.0%} of the recording is speech, so a cue cannot be told from talk around it: what is "
                "found are suggestions only. Next time record without television or other people talking.",
                share=share,
            )
        )
    if clipped > MOST_CLIPPED:
        reasons.append(
            sentence(
                "{clipped:.1f} of 1000 samples are cut off because the sound was too loud: what is found are "
                "suggestions only. Next time put the phone further away.",
                clipped=1000 * clipped,
            )
        )
    return tuple(reasons)
