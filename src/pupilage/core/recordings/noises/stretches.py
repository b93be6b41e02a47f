"""Blocks of any size cut again into stretches of one length, each with a little of what comes before and after.

A detector works on stretches that lie on a fixed grid of the recording, so its events cannot depend on how the
decoder cut the sound into blocks.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]


@dataclass(frozen=True)
class Stretch:
    """Samples with context: `samples[before : before + n_own]` is the stretch's own part, which starts at `start`."""

    samples: Samples
    before: int
    n_own: int
    start: int

    def holds(self, index: int) -> bool:
        """Say whether a place in `samples` lies in the stretch's own part."""
        return self.before <= index < self.before + self.n_own

    def place(self, index: int) -> int:
        """Return a place in `samples` as a sample number of the recording."""
        return self.start + index - self.before


class Stretches:
    """Takes blocks, gives stretches of `n_own` samples; silence stands before the first and after the last sample."""

    def __init__(self, n_own: int, before: int, after: int) -> None:
        self.n_own, self.before, self.after = n_own, before, after
        self._held: list[Samples] = [np.zeros(before, np.float32)]
        self._n_held = before
        self._start = 0
        self.n_samples = 0

    def feed(self, block: Samples) -> Iterator[Stretch]:
        """Yield the stretches that this block completes."""
        self.n_samples += len(block)
        self._held.append(np.asarray(block, np.float32))
        self._n_held += len(block)
        whole = self.before + self.n_own + self.after
        if self._n_held < whole:
            return
        held, at = np.concatenate(self._held), 0
        while len(held) - at >= whole:
            yield Stretch(held[at : at + whole], self.before, self.n_own, self._start)
            self._start += self.n_own
            at += self.n_own
        self._held, self._n_held = [held[at:].copy()], len(held) - at

    def finish(self) -> Iterator[Stretch]:
        """Yield what is left, the last stretch shorter than the others."""
        held = np.concatenate([*self._held, np.zeros(self.after, np.float32)])
        while self._start < self.n_samples:
            n_own = min(self.n_own, self.n_samples - self._start)
            yield Stretch(held[: self.before + n_own + self.after], self.before, n_own, self._start)
            held = held[n_own:]
            self._start += n_own
