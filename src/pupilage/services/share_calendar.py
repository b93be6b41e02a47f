"""The link by which a phone's calendar reads a stay's timetable. Only a hash of its token is kept."""

import hashlib
import secrets
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.services.auditing import audit
from pupilage.storage.models import CalendarLink
from pupilage.storage.queries.programmes import programme_writable_by

TOKEN_BYTES = 32
"""256 random bits: nobody finds one by trying."""


def make_calendar_link(actor: Actor, programme_id: UUID, *, now: datetime) -> str:
    """Return the token of a new link; one made before by this person for this stay stops working.

    Who may: whoever may write. The token is told once and cannot be read back.
    """
    programme = programme_writable_by(actor, programme_id)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    with transaction.atomic():
        _revoke(actor, programme_id, now=now)
        link = CalendarLink.objects.create(
            workspace_id=actor.workspace_id,
            programme=programme,
            user_id=actor.user_id,
            token_hash=hash_token(token),
            made_at=now,
        )
        audit(actor, "make-calendar-link", str(link.id), now=now)
    return token


def revoke_calendar_link(actor: Actor, programme_id: UUID, *, now: datetime) -> None:
    """Stop a person's link for a stay. Idempotent. Who may: whoever may write. Raises NotFound."""
    programme_writable_by(actor, programme_id)
    with transaction.atomic():
        if _revoke(actor, programme_id, now=now):
            audit(actor, "revoke-calendar-link", str(programme_id), now=now)


def find_calendar_link(actor: Actor, programme_id: UUID) -> datetime | None:
    """Return when a person's link for a stay was made, None where there is none that works."""
    links = CalendarLink.objects.filter(
        workspace_id=actor.workspace_id, programme_id=programme_id, user_id=actor.user_id, revoked_at=None
    )
    return links.values_list("made_at", flat=True).first()


def get_calendar_link(token: str) -> CalendarLink:
    """Return the link of a token. Raises NotFound for an unknown or a revoked one: the two are not told apart.

    The database looks up a hash of 256 bits, so that the time it takes tells nothing about tokens that exist.
    """
    link = CalendarLink.objects.filter(token_hash=hash_token(token), revoked_at=None).first()
    if link is None:
        raise NotFound("There is no such calendar; make a new link on the page of the day.")
    return link


def hash_token(token: str) -> str:
    """Return what is stored of a token."""
    return hashlib.sha256(token.encode()).hexdigest()


def _revoke(actor: Actor, programme_id: UUID, *, now: datetime) -> int:
    return CalendarLink.objects.filter(
        workspace_id=actor.workspace_id, programme_id=programme_id, user_id=actor.user_id, revoked_at=None
    ).update(revoked_at=now)
