"""Making a picture or a clip anew: decoded, made smaller, encoded again, so that no place, name or time goes with it.

Nothing of the file that came in is copied: not Exif, XMP, comments, thumbnails, tracks with positions or bytes behind
the end. The demuxer is named, never guessed, so that no list of other files is followed.
"""

import tempfile
from dataclasses import dataclass
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.storage.pictures.heads import UPRIGHT, clip_demuxer, read_head

LARGEST_PICTURE_BYTES = 20 << 20
LARGEST_CLIP_BYTES = 80 << 20
MOST_PIXELS = 60_000_000
LONGEST_SIDE = 1280
CLIP_SIDE = 640
LONGEST_CLIP_S = 30.0
MOST_FRAMES_A_SECOND = 30
QUALITY = 4
"""Of ffmpeg's mjpeg: 2 is the best, 31 the smallest."""

Pixels = NDArray[np.uint8]


@dataclass(frozen=True)
class Remade:
    """The bytes that go out, and their size in pixels as they are shown."""

    body: bytes
    width: int
    height: int


def remake_picture(content: bytes) -> Remade:
    """Return a JPEG of at most 1280 pixels a side, upright, made from a JPEG, PNG, GIF or WebP.

    Raises InvalidInput for anything else, for a damaged one, and for one too large to open safely.
    """
    head = read_head(content)
    if head is None:
        raise InvalidInput.of("file", "This is no picture that can be shown; choose a JPEG, PNG, WebP or GIF.")
    if len(content) > LARGEST_PICTURE_BYTES or head.width * head.height > MOST_PIXELS:
        raise InvalidInput.of("file", "This picture is too large; choose one under {most} MB.", most=20)
    try:
        pixels = _first_frame(content, head.demuxer)
        return _jpeg(np.ascontiguousarray(upright(pixels, head.orientation)))
    except (OSError, ValueError, IndexError) as error:
        raise InvalidInput.of("file", "This picture cannot be opened; choose another one.") from error


def upright(pixels: Pixels, orientation: int) -> Pixels:
    """Return the picture turned and mirrored as Exif's orientation (1 to 8) asks."""
    turned = {UPRIGHT: 0, 2: 0, 3: 2, 4: 2, 5: 3, 6: 3, 7: 1, 8: 1}[orientation]
    out = np.rot90(pixels, turned)
    return out[:, ::-1] if orientation in (2, 4, 5, 7) else out


def _first_frame(content: bytes, demuxer: str) -> Pixels:
    import av  # slow to load, and only asked for here

    with av.open(BytesIO(content), format=demuxer) as container:
        frame = next(container.decode(video=0))
        width, height = fitted(frame.width, frame.height, LONGEST_SIDE)
        rgba = frame.reformat(width=width, height=height, format="rgba").to_ndarray().astype(np.float32)
    alpha = rgba[:, :, 3:] / 255.0
    return np.asarray(rgba[:, :, :3] * alpha + 255.0 * (1.0 - alpha) + 0.5, np.uint8)


def fitted(width: int, height: int, most: int) -> tuple[int, int]:
    """Return the size with its longer side at most so many pixels, even numbers both: what the encoders want."""
    scale = min(1.0, most / max(width, height))
    return max(2, round(width * scale / 2) * 2), max(2, round(height * scale / 2) * 2)


def _jpeg(pixels: Pixels) -> Remade:
    import av

    frame = av.VideoFrame.from_ndarray(pixels, format="rgb24").reformat(format="yuvj420p")
    encoder: Any = av.CodecContext.create("mjpeg", "w")
    encoder.width, encoder.height, encoder.pix_fmt = frame.width, frame.height, "yuvj420p"
    encoder.time_base = Fraction(1, 25)
    encoder.qmin = encoder.qmax = QUALITY
    encoder.options = {"flags": "+bitexact", "color_range": "pc"}
    frame.pts = 0
    packets = [*encoder.encode(frame), *encoder.encode(None)]
    return Remade(b"".join(bytes(packet) for packet in packets), frame.width, frame.height)


def remake_clip(content: bytes, *, with_sound: bool) -> Remade:
    """Return an MP4 (H.264, AAC) of at most 640 pixels a side and 30 s, made from an MP4, a QuickTime or a WebM.

    Raises InvalidInput for anything else, for a damaged one, and for one that is longer or too large.
    """
    demuxer = clip_demuxer(content)
    if demuxer is None:
        raise InvalidInput.of("file", "This is no clip that can be shown; choose an MP4, MOV or WebM.")
    if len(content) > LARGEST_CLIP_BYTES:
        raise InvalidInput.of("file", "This clip is too large; choose one under {most} MB.", most=80)
    try:
        return _mp4(content, demuxer, with_sound)
    except (OSError, ValueError, IndexError, StopIteration) as error:
        raise InvalidInput.of("file", "This clip cannot be opened; choose another one.") from error


def _mp4(content: bytes, demuxer: str, with_sound: bool) -> Remade:
    import av

    with tempfile.TemporaryDirectory(prefix="pupilage-clip-") as folder:
        made = Path(folder) / "clip.mp4"
        with (
            av.open(BytesIO(content), format=demuxer) as source,
            av.open(str(made), "w", format="mp4", options={"movflags": "faststart"}) as target,
        ):
            width, height = _write_clip(source, target, with_sound)
        return Remade(made.read_bytes(), width, height)


def _write_clip(source: Any, target: Any, with_sound: bool) -> tuple[int, int]:
    """Write picture and sound, frame by frame; return the size as it is shown."""
    picture = source.streams.video[0]
    if picture.width * picture.height > MOST_PIXELS:
        raise InvalidInput.of("file", "This clip is too large; choose one under {most} MB.", most=80)
    heard = source.streams.audio[0] if with_sound and source.streams.audio else None
    voice = _Voice(target) if heard else None
    sight = _Sight(target)
    early: list[Any] = []
    for frame in source.decode([picture, heard] if heard else [picture]):
        if frame.time is not None and frame.time > LONGEST_CLIP_S:
            raise InvalidInput.of("file", "This clip is longer than {most:g} seconds; cut it.", most=LONGEST_CLIP_S)
        packets = sight.encode(frame) if hasattr(frame, "rotation") else voice.encode(frame) if voice else []
        # the first packet that is muxed writes the head, and every track has to be there by then
        early += packets
        if sight.track is not None:
            target.mux(early)
            early = []
    if sight.track is None:
        raise ValueError("no picture")
    target.mux(sight.track.encode(None))
    if voice is not None:
        target.mux(voice.track.encode(None))
    return sight.size


class _Voice:
    """The sound of a clip on its way: one channel, at a plain rate."""

    def __init__(self, target: Any) -> None:
        import av

        self.track = target.add_stream("aac", rate=44100, layout="mono", bit_rate=64_000)
        self.resampler = av.AudioResampler(format="fltp", layout="mono", rate=44100)
        self.n = 0

    def encode(self, frame: Any) -> list[Any]:
        packets = []
        for part in self.resampler.resample(frame):
            part.pts, self.n = self.n, self.n + part.samples
            packets += self.track.encode(part)
        return packets


class _Sight:
    """The picture of a clip on its way; its track is made with the first frame, which says how it is held."""

    def __init__(self, target: Any) -> None:
        self.target = target
        self.track: Any = None
        self.size, self.last_s = (0, 0), -1.0

    def encode(self, frame: Any) -> list[Any]:
        at_s = max(0.0, frame.time or 0.0)
        if self.last_s >= 0.0 and at_s - self.last_s < 0.9 / MOST_FRAMES_A_SECOND:
            return []
        self.last_s = at_s
        image = _turned(frame)
        if self.track is None:
            self.size = (image.width, image.height)
            self.track = _picture_track(self.target, *self.size)
        image.pts, image.time_base = round(at_s * 90_000), Fraction(1, 90_000)
        return list(self.track.encode(image))


def _picture_track(target: Any, width: int, height: int) -> Any:
    out = target.add_stream("libx264", rate=MOST_FRAMES_A_SECOND)
    out.width, out.height, out.pix_fmt = width, height, "yuv420p"
    out.time_base = out.codec_context.time_base = Fraction(1, 90_000)
    out.options = {"preset": "veryfast", "crf": "27", "profile": "main"}
    return out


def _turned(frame: Any) -> Any:
    """Return a frame made smaller and turned as the phone was held."""
    import av

    width, height = fitted(frame.width, frame.height, CLIP_SIDE)
    turns = round(frame.rotation / 90) % 4
    small = frame.reformat(width=width, height=height, format="rgb24" if turns else "yuv420p")
    if not turns:
        return small
    pixels = np.ascontiguousarray(np.rot90(small.to_ndarray(), turns))
    return av.VideoFrame.from_ndarray(pixels, format="rgb24").reformat(format="yuv420p")
