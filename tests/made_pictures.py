"""Pictures and clips for the tests, made here: a few blocks of colour, with a place and a name hidden in them."""

import io
import struct
import zlib
from fractions import Fraction

import numpy as np

PLACE = b"+48.1372+011.5755/"
"""What must never go out."""


def blocks(width: int, height: int) -> np.ndarray:
    """Return four blocks of colour: red, green over blue, grey; so that turning and mirroring can be seen."""
    picture = np.zeros((height, width, 3), np.uint8)
    h, w = height // 2, width // 2
    picture[:h, :w], picture[:h, w:], picture[h:, :w], picture[h:, w:] = (
        (200, 30, 30),
        (30, 160, 30),
        (30, 30, 200),
        128,
    )
    return picture


def made_png(width: int, height: int) -> bytes:
    """Return a PNG with a place in a text chunk. Written by hand, so that no encoder of ours is asked."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    rows = b"".join(b"\0" + row.tobytes() for row in blocks(width, height))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    text = chunk(b"tEXt", b"Location\0" + PLACE)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + text
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
        + b"<script>alert(1)</script>"
    )


def made_jpeg(width: int, height: int, *, orientation: int = 1) -> bytes:
    """Return a JPEG with Exif: an orientation, and a place as a camera's maker would write it."""
    import av

    frame = av.VideoFrame.from_ndarray(blocks(width, height), format="rgb24").reformat(format="yuvj420p")
    encoder = av.CodecContext.create("mjpeg", "w")
    encoder.width, encoder.height, encoder.pix_fmt, encoder.time_base = width, height, "yuvj420p", Fraction(1, 25)
    encoder.qmin = encoder.qmax = 2
    frame.pts = 0
    plain = b"".join(bytes(one) for one in [*encoder.encode(frame), *encoder.encode(None)])
    tiff = b"MM\0*\0\0\0\x08" + struct.pack(">H", 2)
    tiff += struct.pack(">HHIHH", 0x0112, 3, 1, orientation, 0)
    tiff += struct.pack(">HHII", 0x010F, 2, len(PLACE), 38) + b"\0\0\0\0" + PLACE
    body = b"Exif\0\0" + tiff
    return plain[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + plain[2:] + PLACE


def encoded(codec: str, pixels: str, width: int, height: int) -> bytes:
    """Return a picture as another of PyAV's encoders writes it."""
    import av

    frame = av.VideoFrame.from_ndarray(blocks(width, height), format="rgb24")
    if codec == "gif":
        out = io.BytesIO()
        with av.open(out, "w", format="gif") as container:
            track = container.add_stream("gif", rate=5)
            track.width, track.height, track.pix_fmt = width, height, pixels
            container.mux(track.encode(frame.reformat(format=pixels)))
            container.mux(track.encode(None))
        return out.getvalue()
    encoder = av.CodecContext.create(codec, "w")
    encoder.width, encoder.height, encoder.pix_fmt, encoder.time_base = width, height, pixels, Fraction(1, 25)
    frame = frame.reformat(format=pixels)
    frame.pts = 0
    return b"".join(bytes(one) for one in [*encoder.encode(frame), *encoder.encode(None)])


def made_clip(seconds: float = 2.0, *, width: int = 320, height: int = 240, fps: int = 15) -> bytes:
    """Return an MP4 with sound and a place in its metadata."""
    import av

    out = io.BytesIO()
    with av.open(out, "w", format="mp4", options={"movflags": "use_metadata_tags"}) as container:
        container.metadata.update({"com.apple.quicktime.location.ISO6709": PLACE.decode(), "location": PLACE.decode()})
        video = container.add_stream("libx264", rate=fps)
        video.width, video.height, video.pix_fmt = width, height, "yuv420p"
        sound = container.add_stream("aac", rate=48000, layout="mono")
        picture = blocks(width, height)
        for i in range(round(seconds * fps)):
            frame = av.VideoFrame.from_ndarray(np.roll(picture, i, 1).copy(), format="rgb24")
            container.mux(video.encode(frame))
            tone = np.sin(np.arange(48000 // fps) * 0.06, dtype=np.float32)[None] * 0.2
            heard = av.AudioFrame.from_ndarray(tone, format="fltp", layout="mono")
            heard.sample_rate, heard.pts = 48000, i * (48000 // fps)
            container.mux(sound.encode(heard))
        container.mux(video.encode(None))
        container.mux(sound.encode(None))
    return out.getvalue()
