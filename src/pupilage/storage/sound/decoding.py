"""Sound out of any container, by streaming: one channel, one rate, on the player's clock.

Only packets of sound are decoded, so a video's pictures cost nothing but their bytes.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput

SPEECH_RATE_HZ = 16_000
"""What the speech embedding hears; events that are shorter than a word want 32,000."""
BLOCK_S = 10.0
SMALLEST_GAP_S = 0.05
"""A hole in the frames' times shorter than this is rounding of the container, not silence."""
LONGEST_GAP_S = 6 * 3600.0
"""A jump beyond this is a broken clock, not a pause."""

FORMATS = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,mp3,ogg,flac,wav,aac,caf,amr"
"""Recordings only: a playlist could name other files of this machine, and would be followed."""

CUT_SHORT = (
    "“{name}” is no recording that can be read ({problem}). It may be cut short before its table of contents, "
    "or be another kind of file under that name; mp4, mov, m4a, webm, mp3, ogg, flac and wav can be read."
)

Sound = NDArray[np.float32]


@dataclass(frozen=True)
class SoundTrack:
    """What a file says of its sound before it is decoded. duration_s is None where the container does not tell.

    n_captions: tracks of captions inside the file; starts_s: how long after the player's 0:00 the sound begins.
    """

    codec: str
    rate_hz: int
    n_channels: int
    duration_s: float | None
    n_tracks: int
    languages: tuple[str, ...] = ()
    n_captions: int = 0
    starts_s: float = 0.0


@dataclass(frozen=True)
class Block:
    """A stretch of sound: samples between -1 and 1, and where the first of them stands on the player's clock."""

    start_s: float
    sound: Sound


def read_track(path: Path, *, track: int = 0) -> SoundTrack:
    """Return what the file says of its sound. Raises InvalidInput, in words, as `decode` does."""
    with opened(path) as container:
        stream = sound_stream(container, path, track)
        length = container.duration / 1e6 if container.duration and container.duration > 0 else None
        languages = tuple(one.language or "" for one in container.streams.audio)
        told = stream.codec_context
        begins_s = float(stream.start_time * stream.time_base) if stream.start_time is not None else 0.0
        late_s = max(begins_s - player_zero_s(container), 0.0)
        n_captions = len(container.streams.subtitles)
        return SoundTrack(
            told.name, told.sample_rate, told.channels, length, len(languages), languages, n_captions, late_s
        )


def decode(path: Path, *, rate_hz: int = SPEECH_RATE_HZ, block_s: float = BLOCK_S, track: int = 0) -> Iterator[Block]:
    """Yield the sound at one rate: see `decode_at`."""
    for (block,) in decode_at(path, (rate_hz,), block_s=block_s, track=track):
        yield block


def decode_at(
    path: Path, rates_hz: Sequence[int], *, block_s: float = BLOCK_S, track: int = 0
) -> Iterator[tuple[Block, ...]]:
    """Yield the sound at each of the rates, decoded once, in blocks of `block_s` that follow each other from 0 on.

    A track that starts late begins with silence, so that a time counted in samples is the player's; holes are filled
    with silence too, and damaged packets are skipped. The last blocks may be shorter. `track` chooses among several
    sound tracks, from 0. Raises InvalidInput for a file that is missing, empty, of no known format, without sound or
    with a track not there.
    """
    with opened(path) as container:
        stream = sound_stream(container, path, track)
        begin_s = player_zero_s(container)
        lanes = [_Lane(rate_hz, round(block_s * rate_hz)) for rate_hz in rates_hz]
        for frame in frames_of(container, stream):
            if frame.pts is not None and frame.time_base is not None:
                at_s = float(frame.pts * frame.time_base) - begin_s
                frame.pts = None
                while True in [lane.reach(at_s) for lane in lanes]:  # all of them, before the next block is given away
                    yield from _whole(lanes)
            for lane in lanes:
                lane.take(frame)
            yield from _whole(lanes)
        for lane in lanes:
            lane.take(None)
        yield from _whole(lanes)
        if any(lane.n_kept for lane in lanes):
            yield tuple(lane.block(lane.n_kept) for lane in lanes)
        elif not lanes[0].n_given:
            raise InvalidInput.of("file", "The sound track of “{name}” is empty or cannot be decoded.", name=path.name)


def _whole(lanes: Sequence["_Lane"]) -> Iterator[tuple[Block, ...]]:
    """Yield the blocks that are whole at every rate."""
    while all(lane.n_kept >= lane.n_block for lane in lanes):
        yield tuple(lane.block(lane.n_block) for lane in lanes)


class _Lane:
    """The sound at one rate, on the player's clock: what was decoded and not given away yet."""

    def __init__(self, rate_hz: int, n_block: int) -> None:
        self.rate_hz, self.n_block = rate_hz, n_block
        self.n_kept = self.n_given = 0
        self._kept: list[Sound] = []
        self._resampler = _resampler(rate_hz)

    def reach(self, at_s: float) -> bool:
        """Lay silence, two blocks at most, where the next frame begins after a hole; return whether there was one."""
        due = round(at_s * self.rate_hz) - self.n_given - self.n_kept
        if not SMALLEST_GAP_S * self.rate_hz < due < LONGEST_GAP_S * self.rate_hz:
            return False
        self.take(None)  # what the resampler holds belongs before the hole
        self._resampler = _resampler(self.rate_hz)
        due = max(round(at_s * self.rate_hz) - self.n_given - self.n_kept, 0)
        self._keep(np.zeros(due if due < 2 * self.n_block else self.n_block, np.float32))
        return True

    def take(self, frame: Any) -> None:
        """Take in a decoded frame, or with None what the resampler still holds."""
        for piece in resampled(self._resampler, frame):
            self._keep(piece)

    def block(self, n: int) -> Block:
        """Give away the next n samples."""
        whole = np.concatenate(self._kept) if self._kept else np.zeros(0, np.float32)
        start_s = self.n_given / self.rate_hz
        self._kept = [whole[n:]]
        self.n_kept, self.n_given = len(whole) - n, self.n_given + n
        return Block(start_s, whole[:n])

    def _keep(self, piece: Sound) -> None:
        self._kept.append(piece)
        self.n_kept += len(piece)


def _resampler(rate_hz: int) -> Any:
    import av

    return av.AudioResampler(format="flt", layout="mono", rate=rate_hz)


def player_zero_s(container: Any) -> float:
    """Return the file's time that players show as 0: its earliest track's first, or 0 where a track starts late."""
    return container.start_time / 1e6 if container.start_time is not None else 0.0


def resampled(resampler: Any, frame: Any) -> Iterator[Sound]:
    """Yield a frame, or with None what is left, at the wanted rate."""
    for one in resampler.resample(frame):
        yield one.to_ndarray().reshape(-1)


def frames_of(container: Any, stream: Any) -> Iterator[Any]:
    """Yield decoded frames; a damaged packet is left out, and a file cut short ends where it ends."""
    import av

    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets)
        except (StopIteration, EOFError):
            return
        except av.error.FFmpegError:
            return
        try:
            yield from packet.decode()
        except av.error.EOFError:
            return
        except av.error.FFmpegError:
            continue


def opened(path: Path) -> Any:
    """Return the open container. Raises InvalidInput, in words, for what is missing, empty or no recording."""
    av = _library()
    if not path.is_file():
        raise InvalidInput.of("file", "There is no file “{name}”; give the path of a recording.", name=path.name)
    if path.stat().st_size == 0:
        raise InvalidInput.of("file", "“{name}” is empty; copy it from the phone again.", name=path.name)
    try:
        return av.open(str(path), metadata_errors="replace", options={"format_whitelist": FORMATS})
    except (av.error.FFmpegError, ValueError) as error:
        raise InvalidInput.of("file", CUT_SHORT, name=path.name, problem=_said_by(error)) from error


def _said_by(error: Exception) -> str:
    return str(getattr(error, "strerror", None) or error).rstrip(".")


def _library() -> Any:
    try:
        import av
    except ImportError as error:
        raise InvalidInput.of(
            "sound", "Reading recordings needs the package “av”; install it with pip install “pupilage[sound]”."
        ) from error
    av.logging.set_level(None)
    return av


def sound_stream(container: Any, path: Path, track: int) -> Any:
    """Return a sound track of an open container. Raises InvalidInput for a track that is not there."""
    streams = container.streams.audio
    if not streams and not container.streams.video:
        raise InvalidInput.of("file", CUT_SHORT, name=path.name, problem="there is nothing in it")
    if not streams:
        raise InvalidInput.of(
            "file",
            "“{name}” has no sound track; film with the microphone on, or take another file.",
            name=path.name,
        )
    if not 0 <= track < len(streams):
        raise InvalidInput.of(
            "track",
            "“{name}” has {n} sound tracks; {given} is none of 1 to {n}.",
            name=path.name,
            n=len(streams),
            given=track + 1,
        )
    chosen = streams[track]
    if chosen.codec_context is None or not chosen.codec_context.sample_rate:
        raise InvalidInput.of("file", "The sound of “{name}” is in a format that cannot be decoded.", name=path.name)
    return chosen
