"""What a trainer chooses for the family's page: the parts, the behaviours, a few words, pictures and clips."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection, transaction

from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, InvalidInput
from pupilage.core.handover.family_parts import MediaKind, Part
from pupilage.services.auditing import audit
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import FamilyMedia, FamilyPage, Programme
from pupilage.storage.pictures.apart import remake_apart
from pupilage.storage.pictures.heads import clip_demuxer
from pupilage.storage.queries.family import media_readable_by, page_of
from pupilage.storage.queries.programmes import list_goals, programme_readable_by, programme_writable_by

MOST_WORDS = 2000
MOST_CAPTION = 200
MOST_MEDIA = 12


@dataclass(frozen=True)
class Choices:
    """What the family's page leaves out, by stored values and keys; words: the trainer's own, at its top."""

    parts_left_out: frozenset[Part] = frozenset()
    behaviours_left_out: frozenset[str] = frozenset()
    words: str = ""


@dataclass(frozen=True)
class MediaLine:
    """A picture or a clip as a list shows it, without its bytes."""

    id: UUID
    kind: MediaKind
    n_bytes: int
    width: int
    height: int
    words: str


@dataclass(frozen=True)
class NewMedia:
    """A picture or a clip to be shown. with_sound: of a clip, whether its sound goes with it."""

    content: bytes
    words: str = ""
    with_sound: bool = False


@dataclass(frozen=True)
class FamilyPageSettings:
    """The trainer's side of the family's page. behaviours: key and name of each goal."""

    choices: Choices
    behaviours: tuple[tuple[str, str], ...]
    media: tuple[MediaLine, ...]


def read_family_settings(actor: Actor, programme_id: UUID) -> FamilyPageSettings:
    """Return what is chosen for a stay's page. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    found = [load_catalogue().find_behaviour(goal.behaviour) for goal in list_goals(programme)]
    return FamilyPageSettings(
        choices_of(page_of(programme)),
        tuple((one.key, one.name) for one in found if one is not None),
        list_media(programme),
    )


def choices_of(page: FamilyPage) -> Choices:
    """Return stored choices as core's types; a part that is no more is left out of nothing."""
    parts = frozenset(Part(value) for value in page.parts_left_out if value in set(Part))
    return Choices(parts, frozenset(page.behaviours_left_out), page.words)


def list_media(programme: Programme) -> tuple[MediaLine, ...]:
    """Return a stay's pictures and clips in the order in which they were added, without their bytes."""
    rows = FamilyMedia.objects.filter(workspace_id=programme.workspace_id, programme=programme)
    fields = rows.order_by("added_at", "id").values_list("id", "kind", "n_bytes", "width", "height", "words")
    return tuple(MediaLine(row[0], MediaKind(row[1]), *row[2:]) for row in fields)


def save_family_choices(actor: Actor, programme_id: UUID, choices: Choices, *, now: datetime) -> None:
    """Write what the page leaves out, and the trainer's words. Idempotent. Who may: whoever may write."""
    programme = programme_writable_by(actor, programme_id)
    if len(choices.words) > MOST_WORDS:
        raise InvalidInput.of("words", "These words have {most} letters at most.", most=MOST_WORDS)
    with transaction.atomic():
        FamilyPage.objects.update_or_create(
            programme=programme,
            defaults={
                "workspace_id": actor.workspace_id,
                "parts_left_out": sorted(choices.parts_left_out),
                "behaviours_left_out": sorted(choices.behaviours_left_out),
                "words": choices.words,
            },
        )
        audit(actor, "save-family-choices", str(programme.id), now=now)


def add_family_media(actor: Actor, programme_id: UUID, new: NewMedia, *, now: datetime) -> UUID:
    """Make a picture or a clip anew and keep that; what was brought in is kept nowhere. Who may: whoever may write.

    Made anew in a process of its own, outside of any transaction. Raises InvalidInput for what cannot be
    shown, Conflict beyond MOST_MEDIA.
    """
    programme = programme_writable_by(actor, programme_id)
    if len(new.words.strip()) > MOST_CAPTION:
        raise InvalidInput.of("words", "These words have {most} letters at most.", most=MOST_CAPTION)
    if FamilyMedia.objects.filter(programme=programme).count() >= MOST_MEDIA:
        raise Conflict("{most} pictures and clips are there already; delete one first.", most=MOST_MEDIA)
    kind = MediaKind.CLIP if clip_demuxer(new.content) else MediaKind.PICTURE
    made = remake_apart(new.content, kind, with_sound=new.with_sound)
    with transaction.atomic():
        row = FamilyMedia.objects.create(
            workspace_id=actor.workspace_id,
            programme=programme,
            kind=kind.value,
            body=made.body,
            n_bytes=len(made.body),
            width=made.width,
            height=made.height,
            words=new.words.strip(),
            added_at=now,
        )
        audit(actor, "add-family-media", str(row.id), now=now, bytes=row.n_bytes, kind=kind.value)
    return row.id


def delete_family_media(actor: Actor, programme_id: UUID, media_id: UUID, *, now: datetime) -> None:
    """Delete a picture or a clip for good. Who may: whoever may write. A backup made before still has it.

    SQLite writes zeros over the row, and its log, which still holds the pages from before, starts anew.
    """
    actor.require_write()
    row = media_readable_by(actor, programme_id, media_id)
    _pragma("secure_delete = ON")
    with transaction.atomic():
        row.delete()
        audit(actor, "delete-family-media", str(media_id), now=now)
    if not connection.in_atomic_block:
        _pragma("wal_checkpoint(TRUNCATE)")


def get_family_media(actor: Actor, programme_id: UUID, media_id: UUID) -> tuple[bytes, str]:
    """Return a picture's or a clip's bytes and their type of content. Who may: whoever may read. Raises NotFound."""
    row = media_readable_by(actor, programme_id, media_id)
    return bytes(row.body), MediaKind(row.kind).content_type


def _pragma(what: str) -> None:
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute(f"PRAGMA {what}")
