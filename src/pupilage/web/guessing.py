"""Counting guesses at links: too many that open nothing are told to wait. A link that opens is never held up."""

from django.core.cache import cache
from django.http import HttpRequest

MOST, WINDOW_S = 30, 600
"""Unknown links from one address in ten minutes, a process each; 256 random bits are what keeps a link unfound."""


def is_guessing(request: HttpRequest) -> bool:
    """Count one link that opened nothing, and say whether there were too many from this address.

    Asked only after the look-up, so that a whole town behind one address cannot be locked out of its own links.
    """
    key = f"unknown-links:{request.META.get('REMOTE_ADDR', '')}"
    cache.add(key, 0, WINDOW_S)
    try:
        return cache.incr(key) > MOST
    except ValueError:  # it ran out between the two
        return False
