"""The links by which a family sees its pup's page and writes down. Only a hash of each token is kept."""

import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor, FamilyGuest
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.errors import InvalidInput, NotFound, Problem
from pupilage.reports.pack.options import usual_language
from pupilage.services.auditing import audit
from pupilage.services.share_calendar import TOKEN_BYTES, hash_token
from pupilage.storage.models import FamilyLink
from pupilage.storage.queries.family import find_guest, links_of
from pupilage.storage.queries.programmes import programme_writable_by

USUAL_WEEKS = 10
"""A link works until so many weeks after the hand-over: two beyond the last follow-up."""

LEAST_WEEKS, MOST_WEEKS = 1, 52
MOST_LINKS = 12
"""Links of a stay that work at once."""

MOST_NAME = 80
OPENED_EVERY = timedelta(minutes=1)
"""When a link was last opened is written at most this often: a page that is read writes next to nothing."""


@dataclass(frozen=True)
class NewLink:
    """A link to be made. weeks: after the hand-over, or after today once that is past."""

    for_whom: str
    may_write: bool = False
    weeks: int = USUAL_WEEKS
    language: str = "en"


@dataclass(frozen=True)
class LinkLine:
    """A link as its trainer sees it; its token is told nowhere. works: it can be opened now."""

    id: UUID
    for_whom: str
    may_write: bool
    language: str
    made_at: datetime
    expires_at: datetime
    revoked_at: datetime | None
    last_opened_at: datetime | None
    works: bool


def make_family_link(actor: Actor, programme_id: UUID, new: NewLink, *, now: datetime) -> str:
    """Return the token of a new link beside those there are. It is told once and cannot be read back.

    Who may: whoever may write. Raises InvalidInput for no name, for weeks out of range and beyond MOST_LINKS.
    """
    programme = programme_writable_by(actor, programme_id)
    working = FamilyLink.objects.filter(programme=programme, revoked_at=None, expires_at__gt=now).count()
    problems = _problems(new, working)
    if problems:
        raise InvalidInput(problems)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    last_day = max(programme.handover_on, local_day(now, actor.zone)) + timedelta(weeks=new.weeks)
    with transaction.atomic():
        link = FamilyLink.objects.create(
            workspace_id=actor.workspace_id,
            programme=programme,
            for_whom=new.for_whom.strip(),
            language=usual_language(new.language).value,
            may_write=new.may_write,
            token_hash=hash_token(token),
            made_by=actor.user_id,
            made_at=now,
            expires_at=day_bounds(last_day, actor.zone)[1],
        )
        audit(actor, "make-family-link", str(link.id), now=now, may_write=new.may_write)
    return token


def revoke_family_link(actor: Actor, programme_id: UUID, link_id: UUID, *, now: datetime) -> None:
    """Stop a link at once. Idempotent. Who may: whoever may write. Raises NotFound."""
    actor.require_write()
    rows = links_of(actor, programme_id).filter(id=link_id)
    if not rows.exists():
        raise NotFound("There is no such link here; choose one from the list.")
    with transaction.atomic():
        if FamilyLink.objects.filter(id=link_id, revoked_at=None).update(revoked_at=now):
            audit(actor, "revoke-family-link", str(link_id), now=now)


def list_family_links(actor: Actor, programme_id: UUID, *, now: datetime) -> list[LinkLine]:
    """Return a stay's links, the newest first. Who may: whoever may read. Raises NotFound."""
    return [
        LinkLine(
            row.id,
            row.for_whom,
            row.may_write,
            row.language,
            row.made_at,
            row.expires_at,
            row.revoked_at,
            row.last_opened_at,
            works=row.revoked_at is None and row.expires_at > now,
        )
        for row in links_of(actor, programme_id)
    ]


def open_family_link(token: str, *, now: datetime) -> FamilyGuest:
    """Return who opens a link, and note that it was opened.

    Raises NotFound for one that is unknown, stopped or past its day: the three are not told apart. The database looks
    up a hash of 256 bits in one query for all three, so that the time it takes tells nothing about links that exist.
    """
    guest = find_guest(hash_token(token), now=now)
    if guest is None:
        raise NotFound("This link does not open anything. Ask the trainer for a new one.")
    rows = FamilyLink.objects.filter(id=guest.link_id)
    last = rows.values_list("last_opened_at", flat=True).get()
    if last is None or now - last >= OPENED_EVERY:
        rows.update(last_opened_at=now)
    return guest


def _problems(new: NewLink, n_working: int) -> list[Problem]:
    found = []
    if not new.for_whom.strip():
        found.append(Problem("for_whom", "A link needs a name: write for whom it is."))
    if len(new.for_whom.strip()) > MOST_NAME:
        found.append(Problem("for_whom", "The name has {most} letters at most.", most=MOST_NAME))
    if not LEAST_WEEKS <= new.weeks <= MOST_WEEKS:
        found.append(Problem("weeks", "Give weeks from {least} to {most}.", least=LEAST_WEEKS, most=MOST_WEEKS))
    if n_working >= MOST_LINKS:
        found.append(Problem("for_whom", "{most} links work already; stop one that nobody needs.", most=MOST_LINKS))
    return found
