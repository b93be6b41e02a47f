"""Sound written into files as phones write it: AAC at 96 kbit/s in mp4 or m4a, by PyAV."""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pupilage.cli.made_sessions.voices import RATE_HZ

Array = NDArray[np.float32]


def write_aac(path: Path, sound: Array, *, bit_rate: int = 96_000) -> None:
    """Write one channel at 32 kHz as AAC."""
    import av

    with av.open(str(path), "w") as container:
        stream = container.add_stream("aac", rate=RATE_HZ, layout="mono")
        stream.bit_rate = bit_rate
        for first in range(0, len(sound), RATE_HZ):
            frame = av.AudioFrame.from_ndarray(
                np.ascontiguousarray(sound[None, first : first + RATE_HZ]), "fltp", "mono"
            )
            frame.sample_rate, frame.pts = RATE_HZ, first
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
