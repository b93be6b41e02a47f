"""The one place where the web reads the clock."""

from datetime import datetime

from django.utils import timezone


def now() -> datetime:
    """Return the present instant, aware, in UTC."""
    return timezone.now()
