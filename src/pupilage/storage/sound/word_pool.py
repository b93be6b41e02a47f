"""The shipped counter-examples: embeddings of speech programs saying sentences, so that other talk is no word.

`scripts/make_word_pool` writes the file beside this one; word_pool.md says whose voices are in it.
"""

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pupilage.storage.sound.embedding import MODEL_SHA256

FILE = Path(__file__).with_name("word_pool.npz")

Array = NDArray[np.float32]


HIGHEST = 15
"""Each number is one of 0 to 15, half a byte: near enough for what is only learned against, and twice as much of it."""


@cache
def word_pool(*, without: str = "") -> tuple[Array, ...]:
    """Return embeddings every 80 ms of each stretch of speech (n, 96), for `core.recordings.words.model.learn`.

    without: the name of a voice to leave out, for measuring with that voice.
    """
    with np.load(FILE, allow_pickle=False) as kept:
        halves, low, step = kept["halves"], kept["low"], kept["step"]
        names, lengths = kept["voices"], kept["lengths"]
    codes = np.stack([halves >> 4, halves & HIGHEST], axis=2).reshape(len(halves), -1)
    rows = (low + step * codes).astype(np.float32)
    runs = np.split(rows, np.cumsum(lengths)[:-1])
    return tuple(run for run, name in zip(runs, names, strict=True) if str(name) != without)


def write_pool(path: Path, runs: Sequence[tuple[str, Array]]) -> None:
    """Write (voice, embeddings) of each stretch, each number in half a byte: its column's lowest and step are kept."""
    rows = np.concatenate([one for _, one in runs])
    low, high = np.percentile(rows, [0.5, 99.5], axis=0)
    step = (high - low) / HIGHEST
    codes = np.clip(np.rint((rows - low) / step), 0, HIGHEST).astype(np.uint8)
    np.savez_compressed(
        path,
        halves=codes[:, ::2] << 4 | codes[:, 1::2],
        low=low.astype(np.float32),
        step=step.astype(np.float32),
        voices=np.array([name for name, _ in runs]),
        lengths=np.array([len(one) for _, one in runs]),
        made_by=np.array(MODEL_SHA256),
    )
