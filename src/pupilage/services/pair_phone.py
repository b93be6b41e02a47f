"""Pairing a phone: a code good once and for ten minutes signs it in as the person who made the code."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.services.auditing import audit
from pupilage.storage.models import PairedPhone
from pupilage.storage.queries.access import find_actor

CODE_LASTS = timedelta(minutes=10)
CODE_LETTERS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without 0, 1, I and O, which are read for each other."""

CODE_LENGTH = 12
"""Twelve of 32 letters are 60 bits, short enough to type; a thousand guesses a second find one of them in 10 minutes
with a chance of 1 in 2·10¹²."""

SEEN_EVERY = timedelta(minutes=1)
"""When a phone was last seen is written at most this often."""

MOST_NAME = 60


@dataclass(frozen=True)
class PairingCode:
    """A code as it is shown once, in groups of four."""

    code: str
    expires_at: datetime


@dataclass(frozen=True)
class PhoneLine:
    """A paired phone as its owner sees it."""

    id: UUID
    name: str
    paired_at: datetime
    last_seen_at: datetime
    revoked_at: datetime | None


def make_pairing_code(actor: Actor, *, now: datetime) -> PairingCode:
    """Return a new code for a phone of this person; codes of theirs that nobody used stop working.

    Who may: everybody, for themselves. The code is told once and cannot be read back.
    """
    code = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
    with transaction.atomic():
        PairedPhone.objects.filter(user_id=actor.user_id, paired_at=None).delete()
        phone = PairedPhone.objects.create(
            workspace_id=actor.workspace_id,
            user_id=actor.user_id,
            code_hash=_hash(code),
            made_at=now,
            expires_at=now + CODE_LASTS,
        )
        audit(actor, "make-pairing-code", str(phone.id), now=now)
    return PairingCode(grouped(code), phone.expires_at)


def pair_phone(code: str, name: str, *, now: datetime) -> PhoneLine:
    """Use a code up and return the phone that it has made. Two at once: one succeeds.

    Raises NotFound for a code that is unknown, used or expired: the three are not told apart.
    """
    with transaction.atomic():
        rows = PairedPhone.objects.filter(code_hash=_hash(code), paired_at=None, revoked_at=None, expires_at__gt=now)
        if not rows.update(paired_at=now, last_seen_at=now, name=name.strip()[:MOST_NAME]):
            raise NotFound(
                "This code has been used or is older than {minutes} minutes; make a new one on the laptop, under "
                "Settings, Phones.",
                minutes=CODE_LASTS.seconds // 60,
            )
        phone = PairedPhone.objects.get(code_hash=_hash(code))
        actor = find_actor(phone.user_id)
        if actor is None:
            raise NotFound("The person who made this code belongs to no workspace any more.")
        audit(actor, "pair-phone", str(phone.id), now=now)
    return _line(phone)


def get_phone_owner(phone_id: UUID) -> UUID:
    """Return the id of the person whom a paired phone signs in. Raises NotFound."""
    found = PairedPhone.objects.filter(id=phone_id, revoked_at=None).values_list("user_id", flat=True).first()
    if found is None:
        raise NotFound("There is no such phone; pair it again.")
    return found


def list_phones(actor: Actor) -> list[PhoneLine]:
    """Return a person's own phones, the newest first. Who may: everybody, their own."""
    rows = PairedPhone.objects.filter(workspace_id=actor.workspace_id, user_id=actor.user_id, paired_at__isnull=False)
    return [_line(row) for row in rows.order_by("-paired_at")]


def revoke_phone(actor: Actor, phone_id: UUID, *, now: datetime) -> None:
    """Sign a phone out for good. Idempotent. Who may: its owner. Raises NotFound."""
    rows = PairedPhone.objects.filter(
        id=phone_id, workspace_id=actor.workspace_id, user_id=actor.user_id, paired_at__isnull=False
    )
    if not rows.exists():
        raise NotFound("There is no such phone here; choose one from the list.")
    with transaction.atomic():
        if rows.filter(revoked_at=None).update(revoked_at=now):
            audit(actor, "revoke-phone", str(phone_id), now=now)


def note_phone_seen(phone_id: UUID, user_id: UUID, *, now: datetime) -> bool:
    """Return whether a phone still signs this person in, and note that it was seen."""
    rows = PairedPhone.objects.filter(id=phone_id, user_id=user_id, paired_at__isnull=False, revoked_at=None)
    last = rows.values_list("last_seen_at", flat=True).first()
    if last is None:
        return False
    if now - last >= SEEN_EVERY:
        rows.update(last_seen_at=now)
    return True


def grouped(code: str) -> str:
    """Return a code in groups of four, to be read and typed."""
    return "-".join(code[at : at + 4] for at in range(0, len(code), 4))


def _line(phone: PairedPhone) -> PhoneLine:
    assert phone.paired_at is not None  # noqa: S101  only phones that were paired are shown
    return PhoneLine(phone.id, phone.name, phone.paired_at, phone.last_seen_at or phone.paired_at, phone.revoked_at)


def _hash(code: str) -> str:
    letters = "".join(letter for letter in code.upper() if letter.isalnum())
    return hashlib.sha256(letters.encode()).hexdigest()
