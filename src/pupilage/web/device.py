"""The device that a page writes for: one id for each browser that is signed in."""

from datetime import datetime
from uuid import UUID, uuid4

from django.http import HttpRequest


def device_of(request: HttpRequest) -> UUID:
    """Return this browser's id; made on its first write."""
    if "device" not in request.session:
        request.session["device"] = str(uuid4())
    return UUID(request.session["device"])


def tz_offset_min(request: HttpRequest, now: datetime) -> int:
    """Return the workspace's offset from UTC at this instant, in minutes."""
    offset = now.astimezone(request.actor.zone).utcoffset()
    return 0 if offset is None else round(offset.total_seconds() / 60)
