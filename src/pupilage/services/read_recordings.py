"""The recordings of a dog, and how far each is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.db.models import Count, Q, QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.core.recordings.reading import Purpose, ReadingState
from pupilage.core.words import Sentence
from pupilage.services.bring_recording import is_captions
from pupilage.storage.models import Recording, Voice
from pupilage.storage.queries.dogs import dog_readable_by
from pupilage.storage.queries.recordings import recording_readable_by, recordings_readable_by
from pupilage.storage.recording_files import fingerprint, recording_file

CONTENT_TYPES = {
    ".mp4": "video/mp4",
    ".m4v": "video/mp4",
    ".mov": "video/mp4",
    ".3gp": "video/3gpp",
    ".webm": "video/webm",
    ".mkv": "video/webm",
    ".m4a": "audio/mp4",
    ".mp3": "audio/mpeg",
    ".ogg": "audio/ogg",
    ".oga": "audio/ogg",
    ".opus": "audio/ogg",
    ".flac": "audio/flac",
    ".wav": "audio/wav",
}
"""What a player is told, by the file's name; a film of a phone's .mov plays as .mp4."""


@dataclass(frozen=True)
class RecordingLine:
    """One recording in the list. progress: 0 to 1; n_checked of n_events are judged; failure: why it was not read."""

    id: UUID
    dog_id: UUID
    file_name: str
    purpose: Purpose
    state: ReadingState
    progress: float
    size_bytes: int
    n_bytes: int
    duration_s: float | None
    began_at: datetime | None
    added_at: datetime
    voice: str
    has_file: bool
    captions_name: str
    n_events: int
    n_checked: int
    failure: Sentence | None

    @property
    def is_moving(self) -> bool:
        """Whether the line may look otherwise in a moment."""
        return self.state in {ReadingState.WAITING, ReadingState.READING}

    @property
    def can_teach(self) -> bool:
        """Whether its sound is here, and is of a session."""
        return self.has_file and self.purpose is Purpose.SESSION and not is_captions(self.file_name)


@dataclass(frozen=True)
class RecordingsPage:
    """A dog's recordings, the newest first, and the voices that are taught."""

    dog_id: UUID
    dog: str
    lines: tuple[RecordingLine, ...]
    voices: Mapping[UUID, str]


def read_recordings(actor: Actor, dog_id: UUID) -> RecordingsPage:
    """Return the list. Who may: whoever may read. Three queries."""
    dog = dog_readable_by(actor, dog_id)
    rows = _counted(recordings_readable_by(actor).filter(dog=dog))
    voices = Voice.objects.filter(workspace_id=actor.workspace_id, retired_at=None).defer("model").order_by("name")
    return RecordingsPage(
        dog.id, dog.name, tuple(_line(row) for row in rows), {voice.id: voice.name for voice in voices}
    )


def read_recording_line(actor: Actor, recording_id: UUID) -> RecordingLine:
    """Return how far one recording is. Who may: whoever may read. Raises NotFound."""
    recording_readable_by(actor, recording_id)
    return _line(_counted(recordings_readable_by(actor).filter(id=recording_id)).get())


@dataclass(frozen=True)
class Sound:
    """Where the bytes of a recording stand, and what a browser is told that they are."""

    file: Path
    content_type: str


def find_sound(actor: Actor, recording_id: UUID) -> Sound:
    """Return where the bytes stand. Who may: whoever may read. Raises NotFound once they are deleted."""
    recording = recording_readable_by(actor, recording_id)
    file = recording_file(recording.id)
    if not recording.has_file or not file.exists():
        raise NotFound("The sound of this recording is not kept any more; what was heard in it is on its page.")
    return Sound(file, CONTENT_TYPES.get(Path(recording.file_name).suffix.casefold(), "application/octet-stream"))


def find_same_sound(actor: Actor, file: Path) -> UUID | None:
    """Return the recording that holds just these bytes and still has them; None where there is none."""
    same = recordings_readable_by(actor).filter(size_bytes=file.stat().st_size, has_file=True)
    if not same.exists():  # a fingerprint reads the whole file
        return None
    found = same.filter(sha256=fingerprint(file)).first()
    return found.id if found is not None else None


def _counted(rows: QuerySet[Recording]) -> QuerySet[Recording]:
    judged = Count(
        "events", filter=Q(events__judgements__taken_back_at=None, events__judgements__isnull=False), distinct=True
    )
    return rows.annotate(n_events=Count("events", distinct=True), n_checked=judged)


def _line(row: Recording) -> RecordingLine:
    return RecordingLine(
        id=row.id,
        dog_id=row.dog_id,
        file_name=row.file_name,
        purpose=Purpose(row.purpose),
        state=ReadingState(row.state),
        progress=row.progress if row.state != ReadingState.ARRIVING else row.n_bytes / row.size_bytes,
        size_bytes=row.size_bytes,
        n_bytes=row.n_bytes,
        duration_s=row.duration_s,
        began_at=row.began_at,
        added_at=row.added_at,
        voice=", ".join(voice.name for voice in row.voices.all()),
        has_file=row.has_file,
        captions_name=row.captions_name,
        n_events=row.n_events,  # type: ignore[attr-defined]  # annotated above
        n_checked=row.n_checked,  # type: ignore[attr-defined]
        failure=Sentence(row.failure[0], row.failure[1]) if row.failure else None,
    )
