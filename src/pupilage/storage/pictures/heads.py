"""What a picture's first bytes say of it, read without decoding it: its kind, its size, how it was held."""

import struct
from collections.abc import Iterator
from dataclasses import dataclass

UPRIGHT = 1
STILL_BRANDS = (b"hei", b"hev", b"mif", b"msf", b"avi")
"""Brands of still pictures in the same boxes as MP4 begin so (ISO/IEC 23008-12, from memory): not read here."""


@dataclass(frozen=True)
class Head:
    """demuxer: ffmpeg's name for the kind, so that it never guesses; orientation: 1 to 8 as in Exif, 1 is upright."""

    demuxer: str
    width: int
    height: int
    orientation: int = UPRIGHT


def read_head(content: bytes) -> Head | None:
    """Return what a JPEG, PNG, GIF or WebP says of itself, None for anything else or a head cut short.

    Source: ITU-T T.81 (JPEG, annex B), W3C PNG (IHDR), GIF89a (logical screen), RFC 9649 (WebP), CIPA DC-008 (Exif,
    tag 0x0112); from memory.
    """
    try:
        if content.startswith(b"\xff\xd8"):
            return _jpeg(content)
        if content.startswith(b"\x89PNG\r\n\x1a\n"):
            return Head("png_pipe", *struct.unpack(">II", content[16:24]))
        if content[:6] in (b"GIF87a", b"GIF89a"):
            return Head("gif", *struct.unpack("<HH", content[6:10]))
        if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
            return _webp(content)
    except (struct.error, IndexError):
        return None
    return None


def clip_demuxer(content: bytes) -> str | None:
    """Return ffmpeg's name for the kind of a clip, None for what is no MP4, QuickTime or WebM."""
    if content[4:8] == b"ftyp" and content[8:11] in STILL_BRANDS:
        return None
    if content[4:8] in (b"ftyp", b"moov", b"wide", b"mdat"):
        return "mov"
    return "matroska" if content.startswith(b"\x1a\x45\xdf\xa3") else None


def _segments(content: bytes) -> Iterator[tuple[int, bytes]]:
    """Return the segments of a JPEG up to its scan: marker and body."""
    at = 2
    while at + 4 <= len(content) and content[at] == 0xFF:
        marker = content[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        (length,) = struct.unpack(">H", content[at + 2 : at + 4])
        yield marker, content[at + 4 : at + 2 + length]
        if marker == 0xDA:
            return
        at += 2 + length


def _jpeg(content: bytes) -> Head | None:
    orientation, size = UPRIGHT, None
    for marker, body in _segments(content):
        if marker == 0xE1 and body.startswith(b"Exif\0\0"):
            orientation = _orientation(body[6:])
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack(">HH", body[1:5])
            size = (width, height)
    return None if size is None else Head("jpeg_pipe", *size, orientation)


def _orientation(tiff: bytes) -> int:
    """Return Exif's orientation; upright where it is missing or damaged: a turned picture is better than none."""
    order = {b"II": "<", b"MM": ">"}.get(tiff[:2])
    if order is None:
        return UPRIGHT
    try:
        (first,) = struct.unpack(order + "I", tiff[4:8])
        (n,) = struct.unpack(order + "H", tiff[first : first + 2])
        for i in range(n):
            entry = tiff[first + 2 + 12 * i : first + 14 + 12 * i]
            tag, _, _, value = struct.unpack(order + "HHIH", entry[:10])
            if tag == 0x0112:
                return value if 1 <= value <= 8 else UPRIGHT
    except struct.error:
        return UPRIGHT
    return UPRIGHT


def _webp(content: bytes) -> Head | None:
    kind, body = content[12:16], content[20:30]
    if kind == b"VP8X":
        width, height = (1 + int.from_bytes(body[i : i + 3], "little") for i in (4, 7))
    elif kind == b"VP8L":
        bits = int.from_bytes(body[1:5], "little")
        width, height = 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    elif kind == b"VP8 ":
        width, height = (one & 0x3FFF for one in struct.unpack("<HH", body[6:10]))
    else:
        return None
    return Head("webp_pipe", width, height)
