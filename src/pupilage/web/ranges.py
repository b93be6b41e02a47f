"""A file in the pieces that a player asks for (RFC 9110, section 14): one range at a time, read in blocks."""

import re
from collections.abc import Iterator
from pathlib import Path

from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase

BLOCK_BYTES = 1 << 18
_RANGE = re.compile(r"bytes=(\d*)-(\d*)", re.ASCII)


def ranged(request: HttpRequest, file: Path, content_type: str) -> HttpResponseBase:
    """Return the file, or the one range of it that was asked for: 206, or 416 for one behind its end."""
    size = file.stat().st_size
    asked = _RANGE.fullmatch(request.headers.get("Range", ""))
    if asked is None or asked.group() == "bytes=-":
        return _streamed(file, 0, size - 1, content_type, 200)
    first, last = _bounds(asked[1], asked[2], size)
    if first >= size or first > last:
        return HttpResponse(status=416, headers={"Content-Range": f"bytes */{size}"})
    part = _streamed(file, first, last, content_type, 206)
    part["Content-Range"] = f"bytes {first}-{last}/{size}"
    return part


def _streamed(file: Path, first: int, last: int, content_type: str, status: int) -> HttpResponseBase:
    """Return these bytes for a player and nothing else: what somebody uploaded is never a page of ours."""
    response = StreamingHttpResponse(_read(file, first, last), status=status, content_type=content_type)
    response["Content-Length"] = str(last - first + 1)
    response["Accept-Ranges"] = "bytes"
    response["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response["Cache-Control"] = "private, no-store"
    return response


def _bounds(first: str, last: str, size: int) -> tuple[int, int]:
    if not first:
        return max(0, size - int(last)), size - 1
    return int(first), min(int(last), size - 1) if last else size - 1


def _read(file: Path, first: int, last: int) -> Iterator[bytes]:
    left = last - first + 1
    with file.open("rb") as read:
        read.seek(first)
        while left > 0 and (block := read.read(min(BLOCK_BYTES, left))):
            left -= len(block)
            yield block
