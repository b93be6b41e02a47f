"""A stretch of a recording's sound, without reading what comes before it where the container allows that."""

import io
import tempfile
import wave
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.storage.recording_files import recordings_folder
from pupilage.storage.sound import decoding
from pupilage.storage.sound.decoding import SPEECH_RATE_HZ, Sound, decode

SEEKABLE = frozenset({"mov", "mp4", "matroska", "webm", "wav"})
"""Containers whose clock is right after a jump; others are decoded from their start."""
BEFORE_S = 1.0
"""A decoder needs some frames before it sounds as if it had come from the start."""
LONGEST_CLIP_S = 120.0
_FULL = 32767.0


def sound_between(path: Path, from_s: float, to_s: float, *, rate_hz: int = SPEECH_RATE_HZ) -> Sound:
    """Return the sound from one moment of the player's clock to another, shorter where the recording ends before.

    Raises InvalidInput as `decode` does.
    """
    from_s = max(from_s, 0.0)
    with decoding.opened(path) as container:
        if from_s > 2 * BEFORE_S and set(container.format.name.split(",")) & SEEKABLE:
            stream = decoding.sound_stream(container, path, 0)
            found = _after_jump(container, stream, from_s, to_s, rate_hz)
            if found is not None:
                return found
    return _from_start(path, from_s, to_s, rate_hz)


def sound_of(content: bytes, *, rate_hz: int = SPEECH_RATE_HZ) -> Sound:
    """Return the whole sound of a short file that is not kept: it stands on the disk only while it is read.

    Raises InvalidInput as `decode` does, and for more than two minutes.
    """
    with tempfile.NamedTemporaryFile(dir=recordings_folder(), prefix="sample-") as file:
        file.write(content)
        file.flush()
        pieces = []
        for block in decode(Path(file.name), rate_hz=rate_hz):
            pieces.append(block.sound)
            if block.start_s + len(block.sound) / rate_hz > LONGEST_CLIP_S:
                told = "This is longer than {most:.0f} s; bring one example, or bring it in as a recording and tap."
                raise InvalidInput.of("sound", told, most=LONGEST_CLIP_S)
    return np.concatenate(pieces)


def as_pcm(sound: Sound) -> bytes:
    """Return sound as 16-bit samples."""
    return (np.clip(sound, -1.0, 1.0) * _FULL).astype("<i2").tobytes()


def from_pcm(kept: bytes) -> Sound:
    """Return the sound of 16-bit samples."""
    return np.asarray(np.frombuffer(kept, "<i2") / _FULL, np.float32)


def as_wav(sound: Sound, *, rate_hz: int = SPEECH_RATE_HZ) -> bytes:
    """Return sound as a WAV file, which every browser plays."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(as_pcm(sound))
    return out.getvalue()


def _after_jump(container: Any, stream: Any, from_s: float, to_s: float, rate_hz: int) -> Sound | None:
    """Return the stretch after a jump in the file, None where the jump cannot be trusted."""
    import av

    zero_s = decoding.player_zero_s(container)
    try:
        container.seek(round((from_s - BEFORE_S + zero_s) * av.time_base))
    except av.error.FFmpegError:
        return None
    resampler = av.AudioResampler(format="flt", layout="mono", rate=rate_hz)
    sound = np.zeros(round((to_s - from_s) * rate_hz), np.float32)
    at: int | None = None
    for frame in decoding.frames_of(container, stream):
        if at is None:
            if frame.pts is None:
                return None
            first_s = float(frame.pts * frame.time_base) - zero_s
            if first_s > from_s + decoding.SMALLEST_GAP_S:
                return None
            at = round((first_s - from_s) * rate_hz)
        frame.pts = None
        for piece in decoding.resampled(resampler, frame):
            _lay(sound, piece, at)
            at += len(piece)
        if at >= len(sound):
            return sound
    return None if at is None else sound[: max(at, 0)]


def _lay(sound: NDArray[np.float32], piece: Sound, at: int) -> None:
    first, last = max(at, 0), min(at + len(piece), len(sound))
    if first < last:
        sound[first:last] = piece[first - at : last - at]


def _from_start(path: Path, from_s: float, to_s: float, rate_hz: int) -> Sound:
    pieces, first, last = [], round(from_s * rate_hz), round(to_s * rate_hz)
    for block in decode(path, rate_hz=rate_hz):
        at = round(block.start_s * rate_hz)
        pieces.append(block.sound[max(first - at, 0) : max(last - at, 0)])
        if at + len(block.sound) >= last:
            break
    return np.concatenate(pieces)
