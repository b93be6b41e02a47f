"""All that a family's link can ask for: one stay, its pictures, its entries. Nothing else takes a `FamilyGuest`."""

from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from pupilage.core.access import Actor, FamilyGuest
from pupilage.core.errors import NotFound
from pupilage.core.handover.family_log import Entry, EntryKind
from pupilage.core.units import WeightUnit
from pupilage.storage.models import FamilyEntry, FamilyLink, FamilyMedia, FamilyPage, Programme, User
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.queries.sessions import log_marks


def find_guest(token_hash: str, *, now: datetime) -> FamilyGuest | None:
    """Return who opens a link, None for one that is unknown, stopped or past its day: one query for all three."""
    rows = FamilyLink.objects.filter(token_hash=token_hash, revoked_at=None, expires_at__gt=now)
    link = rows.select_related("workspace", "programme").first()
    if link is None:
        return None
    return FamilyGuest(
        link_id=link.id,
        workspace_id=link.workspace_id,
        programme_id=link.programme_id,
        dog_id=link.programme.dog_id,
        for_whom=link.for_whom,
        may_write=link.may_write,
        timezone=link.workspace.timezone,
        weight_unit=WeightUnit(link.workspace.weight_unit),
        language=link.language,
    )


def stay_of(guest: FamilyGuest) -> Programme:
    """Return the one stay of a link."""
    rows = Programme.objects.filter(workspace_id=guest.workspace_id, id=guest.programme_id, dog_id=guest.dog_id)
    return rows.annotate(**log_marks(guest)).select_related("dog", "dog__household", "family").get()


def media_of(guest: FamilyGuest) -> QuerySet[FamilyMedia]:
    """Return the pictures and clips of a link's stay."""
    return FamilyMedia.objects.filter(workspace_id=guest.workspace_id, programme_id=guest.programme_id)


def list_own_entries(guest: FamilyGuest) -> list[Entry]:
    """Return what was written down with this link, taken back or not."""
    rows = FamilyEntry.objects.filter(workspace_id=guest.workspace_id, programme_id=guest.programme_id)
    return [entry_of(row, guest.for_whom) for row in rows.filter(link_id=guest.link_id).order_by("at", "id")]


def list_entries(programme: Programme) -> list[Entry]:
    """Return what the family of a stay wrote down or told, taken back or not."""
    rows = FamilyEntry.objects.filter(workspace_id=programme.workspace_id, programme=programme)
    found = list(rows.select_related("link").order_by("at", "id"))
    ids = {row.told_to for row in found if row.told_to is not None}
    names = {user.id: user.display_name or user.username for user in User.objects.filter(id__in=ids)}
    return [entry_of(row, row.link.for_whom if row.link else names.get(row.told_to, "")) for row in found]


def entry_of(row: FamilyEntry, by: str) -> Entry:
    """Return a row as core's type."""
    return Entry(
        id=str(row.entry_id),
        kind=EntryKind(row.kind),
        at=row.at,
        subject=row.subject,
        met=row.met,
        week=row.week,
        note=row.note,
        by=by,
        told=row.told_to is not None,
        withdraws="" if row.withdraws is None else str(row.withdraws),
    )


def links_of(actor: Actor, programme_id: UUID) -> QuerySet[FamilyLink]:
    """Return the links of a stay for its trainer, the newest first. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    rows = FamilyLink.objects.filter(workspace_id=actor.workspace_id, programme=programme)
    return rows.order_by("-made_at", "id")


def media_readable_by(actor: Actor, programme_id: UUID, media_id: UUID) -> FamilyMedia:
    """Return one picture or clip for the trainer. Raises NotFound."""
    rows = FamilyMedia.objects.filter(workspace_id=actor.workspace_id, programme_id=programme_id, id=media_id)
    found = rows.first()
    if found is None:
        raise NotFound("There is no such picture here; it may have been deleted.")
    return found


def page_of(programme: Programme) -> FamilyPage:
    """Return what the trainer chose for a stay's page, or the usual: everything shown."""
    return FamilyPage.objects.filter(programme=programme).first() or FamilyPage(programme=programme)
