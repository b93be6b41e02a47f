"""Giving out a picture or a clip: as what it is and nothing else."""

from django.http import HttpRequest, HttpResponse

POLICY = "default-src 'none'; frame-ancestors 'none'; sandbox"
"""Whatever a browser takes it for, it may load and run nothing."""


def media_response(request: HttpRequest, content: bytes, content_type: str) -> HttpResponse:
    """Return the bytes, or the one range of them that a player asks for."""
    first, last = 0, len(content) - 1
    asked = _range(request.headers.get("Range", ""), len(content))
    if asked is not None:
        first, last = asked
    response = HttpResponse(content[first : last + 1], content_type=content_type, status=206 if asked else 200)
    if asked is not None:
        response["Content-Range"] = f"bytes {first}-{last}/{len(content)}"
    response["Accept-Ranges"] = "bytes"
    response["Content-Disposition"] = f'inline; filename="{"clip.mp4" if "video" in content_type else "picture.jpg"}"'
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = POLICY
    response["Cross-Origin-Resource-Policy"] = "same-origin"
    response["Cache-Control"] = "private, max-age=3600"
    return response


def _range(asked: str, n: int) -> tuple[int, int] | None:
    """Return the first and last byte of a plain range, None for anything else: then the whole is given."""
    unit, _, span = asked.partition("=")
    first, dash, last = span.partition("-")
    if unit != "bytes" or not dash or "," in span or not (first.isdigit() or last.isdigit()):
        return None
    if not first:
        return max(0, n - int(last)), n - 1
    begin = int(first)
    end = min(int(last), n - 1) if last.isdigit() else n - 1
    return (begin, end) if begin <= end else None
