"""The one place where the command line reads the clock."""

import os
from datetime import UTC, datetime
from pathlib import Path

from pupilage.core.clock import find_zone
from pupilage.core.errors import InvalidInput

TZ_GIVEN = os.environ.get("TZ", "")
"""The environment's TZ as it was found: Django sets the variable to its own zone, UTC, when it reads its settings."""

ZONE_FOLDER = "zoneinfo/"
LOCALTIME = Path("/etc/localtime")
ZONE_NAME_FILE = Path("/etc/timezone")


def now() -> datetime:
    """Return the present instant, aware, in UTC."""
    return datetime.now(UTC)


def guess_timezone() -> str:
    """Return the system's time zone by its IANA name: TZ, /etc/timezone or /etc/localtime, else UTC."""
    for name in (TZ_GIVEN.lstrip(":"), _named_zone(), _linked_zone()):
        try:
            if name and find_zone(name):
                return name
        except InvalidInput:
            continue
    return "UTC"


def _named_zone() -> str:
    try:
        return ZONE_NAME_FILE.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _linked_zone() -> str:
    try:
        return str(LOCALTIME.resolve(strict=True)).partition(ZONE_FOLDER)[2]
    except OSError:
        return ""
