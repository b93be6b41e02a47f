"""Where an embedding stands in time, and how five of them are laid side by side."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 16_000
N_NUMBERS = 96
WINDOW_SAMPLES = 12_400
"""One embedding hears 0.775 s: 76 frames of 10 ms and the last one's width."""
STEP_SAMPLES = 1_280
"""The model moves on by 80 ms."""
N_PHASES = 4
HOP_SAMPLES = STEP_SAMPLES // N_PHASES
HOP_S = HOP_SAMPLES / RATE_HZ
"""With the sound shifted four times, an embedding begins every 20 ms."""
N_STACKED = 5
REACH = N_STACKED // 2
"""Two embeddings on each side: 160 ms, so that a stack hears 1.1 s."""

Array = NDArray[np.float32]
Embed = Callable[[Array], Array]
"""Sound at 16 kHz to the embeddings of one phase (n, 96), every 80 ms; the edge passes it in."""


def stack(embeddings: Array, *, step: int = 1) -> Array:
    """Return each embedding with its two neighbours on either side, as one row (n, 480).

    step: rows between neighbours: 1 for embeddings every 80 ms, 4 for every 20 ms. Beyond the ends the
    last is repeated.
    """
    n = len(embeddings)
    places = np.arange(n)[:, None] + step * np.arange(-REACH, REACH + 1)
    laid: Array = embeddings[np.clip(places, 0, max(n - 1, 0))].reshape(n, N_STACKED * N_NUMBERS)
    return laid
