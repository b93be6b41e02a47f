"""Bringing a recording in: its bytes in pieces, from a page, from a file of this machine or from a watched folder."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import require_aware
from pupilage.core.errors import Conflict, InvalidInput, NotFound, Problem
from pupilage.core.recordings.reading import Purpose, ReadingState
from pupilage.services.auditing import audit
from pupilage.services.keep_voice import set_voices
from pupilage.services.log_care import CLOCK_SLACK
from pupilage.storage import recording_files
from pupilage.storage.models import Recording
from pupilage.storage.queries.dogs import dog_writable_by
from pupilage.storage.queries.programmes import programme_writable_by
from pupilage.storage.queries.recordings import recording_writable_by
from pupilage.storage.queries.voices import chosen_voices
from pupilage.storage.reader_process import wake_reader

LARGEST_BYTES = 20 << 30
LARGEST_CAPTIONS_BYTES = 20 << 20
SOUNDS = (".mp4", ".mov", ".m4v", ".m4a", ".webm", ".mkv", ".mp3", ".ogg", ".oga", ".opus", ".flac", ".wav", ".3gp")
CAPTIONS = (".vtt", ".srt", ".txt")


@dataclass(frozen=True)
class NewRecording:
    """What is brought in. began_at: the moment of the player's 0:00; voice_ids: who gives the cues in it."""

    file_name: str
    size_bytes: int
    purpose: Purpose = Purpose.SESSION
    began_at: datetime | None = None
    programme_id: UUID | None = None
    voice_ids: tuple[UUID, ...] = ()
    keep_sound: bool = False
    recording_id: UUID | None = None


def is_captions(file_name: str) -> bool:
    """Say whether a file is taken for timed text by its name."""
    return file_name.casefold().endswith(CAPTIONS)


def begin_recording(actor: Actor, dog_id: UUID, new: NewRecording, *, now: datetime) -> UUID:
    """Make the place for a recording whose bytes are to come, and return its id. Idempotent by recording_id.

    Who may: whoever may write. Raises InvalidInput for a name that is no sound, video or captions, for no bytes and for
    a beginning in the future; StorageTrouble when the disk has no room: before the first byte is sent.
    """
    dog = dog_writable_by(actor, dog_id)
    _require_new(new, now)
    programme = programme_writable_by(actor, new.programme_id) if new.programme_id else None
    voices = chosen_voices(actor, new.voice_ids)
    recording_files.require_room(new.size_bytes)
    with transaction.atomic():
        recording, made = Recording.objects.get_or_create(
            workspace_id=actor.workspace_id,
            id=new.recording_id or uuid4(),
            defaults={
                "dog": dog,
                "programme": programme,
                "purpose": new.purpose,
                "file_name": Path(new.file_name).name[:255],
                "size_bytes": new.size_bytes,
                "keep_sound": new.keep_sound,
                "began_at": new.began_at,
                "state": ReadingState.ARRIVING,
                "added_at": now,
            },
        )
        if made:
            set_voices(recording, voices)
            audit(actor, "begin-recording", str(recording.id), now=now, bytes=new.size_bytes)
    return recording.id


def add_bytes(actor: Actor, recording_id: UUID, offset: int, blocks: Iterable[bytes], *, now: datetime) -> int:
    """Write a piece that begins at `offset`, and return how many bytes have arrived: where the next piece begins.

    A piece that was sent twice is written once more over itself. The last byte makes the recording wait for its reader.
    Raises Conflict when pieces before it are missing: the answer names where to go on.
    """
    recording = recording_writable_by(actor, recording_id)
    if recording.state != ReadingState.ARRIVING:
        return recording.n_bytes
    if offset > recording.n_bytes:
        raise Conflict("{n} bytes have arrived; go on from there.", n=recording.n_bytes)
    limit = recording.size_bytes - offset
    n_bytes = recording_files.append(recording_files.recording_file(recording.id), offset, _at_most(blocks, limit))
    if not Recording.objects.filter(id=recording.id, state=ReadingState.ARRIVING).update(n_bytes=n_bytes):
        return _went_on_without(recording, n_bytes)
    if n_bytes == recording.size_bytes:
        finish_arrival(actor, recording_id, now=now)
    return n_bytes


def bring_file(actor: Actor, recording_id: UUID, source: Path, *, told: Callable[[int], None], now: datetime) -> None:
    """Copy a file of this machine in, whole, and let it wait for its reader. told: takes how many bytes are there.

    Raises what `finish_arrival` raises, and OSError from the disk: then nothing of it is left.
    """
    recording = recording_writable_by(actor, recording_id)
    try:
        recording_files.copy_in(source, recording_files.recording_file(recording.id), told=told)
    except BaseException:  # Ctrl-C as well: nobody goes on with a copy that broke off
        Recording.objects.filter(id=recording.id, state=ReadingState.ARRIVING).delete()
        recording_files.delete_files(recording.id)
        raise
    finish_arrival(actor, recording_id, now=now)


def _went_on_without(recording: Recording, n_bytes: int) -> int:
    """Return how many bytes count of a recording that was ended while a piece arrived; of one deleted none is left."""
    left = Recording.objects.filter(id=recording.id, has_file=True).first()
    if left is None:
        recording_files.delete_files(recording.id)
        raise NotFound("This recording was called off or deleted while it arrived; nothing of it is left.")
    return min(left.n_bytes, n_bytes)


def finish_arrival(actor: Actor, recording_id: UUID, *, now: datetime) -> None:
    """Take the fingerprint of a recording that is whole, and let it wait for its reader. One transaction.

    Raises Conflict for bytes that another recording of the workspace has: the doubled one is gone again.
    """
    recording = recording_writable_by(actor, recording_id)
    sha256 = recording_files.fingerprint(recording_files.recording_file(recording.id))
    twin = Recording.objects.filter(workspace_id=actor.workspace_id, sha256=sha256).exclude(id=recording.id).first()
    if twin is not None:
        with transaction.atomic():
            recording.delete()
            audit(actor, "double-recording", str(recording.id), now=now, twin=str(twin.id))
        recording_files.delete_files(recording_id)
        raise Conflict("“{file}” was brought in before, as “{twin}”.", file=recording.file_name, twin=twin.file_name)
    with transaction.atomic():
        rows = Recording.objects.filter(id=recording.id, state=ReadingState.ARRIVING)
        if rows.update(sha256=sha256, n_bytes=recording.size_bytes, state=ReadingState.WAITING):
            audit(actor, "bring-recording", str(recording.id), now=now, bytes=recording.size_bytes)
            transaction.on_commit(wake_reader)


def add_captions(actor: Actor, recording_id: UUID, file_name: str, content: bytes, *, now: datetime) -> None:
    """Put captions beside a recording; they are read with it, or anew where it was read already."""
    recording = recording_writable_by(actor, recording_id)
    require_captions(file_name, content)
    recording_files.append(recording_files.captions_file(recording.id), 0, [content])
    with transaction.atomic():
        Recording.objects.filter(id=recording.id).update(captions_name=Path(file_name).name[:255])
        ended = Recording.objects.filter(id=recording.id, state__in=(ReadingState.READ, ReadingState.FAILED))
        ended.update(state=ReadingState.WAITING, progress=0, failure=None)
        audit(actor, "add-captions", str(recording.id), now=now, bytes=len(content))
        transaction.on_commit(wake_reader)


def require_captions(file_name: str, content: bytes) -> None:
    """Refuse what cannot be captions by its name or its size. Raises InvalidInput."""
    if not is_captions(file_name) or not 0 < len(content) <= LARGEST_CAPTIONS_BYTES:
        told = "“{name}” is no file of captions; bring one of {known} with at most {most} MB."
        most = LARGEST_CAPTIONS_BYTES >> 20
        raise InvalidInput.of("captions", told, name=file_name, known=", ".join(CAPTIONS), most=most)


def _require_new(new: NewRecording, now: datetime) -> None:
    problems = []
    name = new.file_name.casefold()
    if not name.endswith((*SOUNDS, *CAPTIONS)):
        told = "“{name}” is no sound, video or captions; bring one of {known}."
        problems.append(Problem("file", told, name=new.file_name, known=", ".join((*SOUNDS, *CAPTIONS))))
    if new.size_bytes < 1:
        problems.append(Problem("file", "“{name}” is empty; choose another file.", name=new.file_name))
    if new.size_bytes > LARGEST_BYTES:
        told = "“{name}” has {size} GB; at most {most} GB are read. Cut it in parts."
        size = round(new.size_bytes / 1e9, 1)
        problems.append(Problem("file", told, name=new.file_name, size=size, most=round(LARGEST_BYTES / 1e9)))
    if new.began_at is not None:
        require_aware(new.began_at)
        if new.began_at > now + CLOCK_SLACK:
            problems.append(Problem("began_at", "A recording cannot begin in the future; check the day and the time."))
    if problems:
        raise InvalidInput(problems)


def _at_most(blocks: Iterable[bytes], limit: int) -> Iterable[bytes]:
    """Pass on no more bytes than were promised."""
    left = limit
    for block in blocks:
        yield block[:left]
        left -= len(block)
        if left <= 0:
            return
