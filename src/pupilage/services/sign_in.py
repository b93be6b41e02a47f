"""Signing in by a one-time link. Only a hash of its token is kept."""

import hashlib
import secrets
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from pupilage.core.errors import NotFound
from pupilage.storage.models import SignInLink

LINK_LASTS = timedelta(hours=12)


def issue_sign_in_link(user_id: UUID, *, now: datetime) -> str:
    """Return the token of a new link for this person, good once and for twelve hours.

    Who may: only the command line on the machine itself; there is no page for it.
    """
    token = secrets.token_urlsafe(32)
    SignInLink.objects.create(token_hash=_hash(token), user_id=user_id, expires_at=now + LINK_LASTS)
    return token


def redeem_sign_in_link(token: str, *, now: datetime) -> UUID:
    """Return the person whom a link signs in, and use the link up.

    Raises NotFound for an unknown, used or expired link. Two redemptions at once: one succeeds.
    """
    with transaction.atomic():
        link = SignInLink.objects.filter(token_hash=_hash(token)).first()
        used = (
            SignInLink.objects.filter(token_hash=_hash(token), used_at=None, expires_at__gt=now).update(used_at=now)
            if link
            else 0
        )
    if link is None or not used:
        raise NotFound("This link has been used or is too old; run `pupilage serve` again for a new one.")
    return link.user_id


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()
