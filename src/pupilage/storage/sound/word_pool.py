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


@cache
def word_pool(*, without: str = "") -> tuple[Array, ...]:
    """Return embeddings every 80 ms of each stretch of speech (n, 96), for `core.recordings.words.model.learn`.

    without: the name of a voice to leave out, for measuring with that voice.
    """
    with np.load(FILE, allow_pickle=False) as kept:
        rows = kept["middle"] + kept["scale"] * kept["rows"].astype(np.float32)
        names, lengths = kept["voices"], kept["lengths"]
    runs = np.split(rows.astype(np.float32), np.cumsum(lengths)[:-1])
    return tuple(run for run, name in zip(runs, names, strict=True) if str(name) != without)


def write_pool(path: Path, runs: Sequence[tuple[str, Array]]) -> None:
    """Write (voice, embeddings) of each stretch, each number in one byte: its column's middle and scale are kept."""
    rows = np.concatenate([one for _, one in runs])
    low, high = np.percentile(rows, [0.1, 99.9], axis=0)
    middle, scale = (low + high) / 2, (high - low) / 254
    np.savez_compressed(
        path,
        rows=np.clip(np.rint((rows - middle) / scale), -127, 127).astype(np.int8),
        middle=middle.astype(np.float32),
        scale=scale.astype(np.float32),
        voices=np.array([name for name, _ in runs]),
        lengths=np.array([len(one) for _, one in runs]),
        made_by=np.array(MODEL_SHA256),
    )
