"""The reader of recordings: takes one that waits, reads it outside any request, and writes down what was heard.

A reader says every few seconds that it is alive. One that fell silent, as by a power cut, is replaced: the recording is
read from its start again. What a person has judged meanwhile is never lost: only what nobody has looked at is replaced.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q, QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, PupilageError
from pupilage.core.recordings.events import Event, EventSource
from pupilage.core.recordings.reading import ReadingState
from pupilage.core.words import Sentence
from pupilage.services.auditing import audit
from pupilage.storage.models import AuditEntry, Recording, RecordingEvent
from pupilage.storage.queries.recordings import recording_writable_by
from pupilage.storage.reader_process import wake_reader
from pupilage.storage.troubles import explain

SILENT_AFTER = timedelta(seconds=60)
TOLD_EVERY = timedelta(seconds=2)
SAME_WITHIN_S = 0.25
"""As near as this two events of one kind are the same sound."""


@dataclass(frozen=True)
class Heard:
    """What a reading found. events: each with the numbers it was heard by, None where there are none.

    quality, result: plain numbers and words, as JSON keeps them.
    """

    events: Sequence[tuple[Event, bytes | None]]
    duration_s: float
    quality: Mapping[str, Any] = field(default_factory=dict)
    result: Mapping[str, Any] = field(default_factory=dict)


Told = Callable[[float], None]
"""Takes how much is done, 0 to 1. Raises Cancelled when nobody wants the rest."""

Hear = Callable[[Recording, Told], Heard]


class Cancelled(Exception):
    """The reading is not wanted any more, or another reader has it."""


def read_waiting(
    worker: str, hear: Hear, clock: Callable[[], datetime], *, only: UUID | None = None, told: Told | None = None
) -> UUID | None:
    """Read the recording that waits longest, or `only` that one, and return its id; None when nothing waits.

    Who may: the command line on the machine itself. Whatever goes wrong stands with the recording as a sentence that
    says what to do; nothing half-read is kept.
    """
    recording = _claim(worker, clock(), only)
    if recording is None:
        return None
    watch = _Watch(recording, worker, clock, told)
    try:
        heard = hear(recording, watch.told)
        watch.require_wanted()
        _keep(recording, worker, heard, clock())
    except Cancelled:
        pass
    except (PupilageError, OSError, MemoryError) as error:
        _fail(recording, worker, error, clock())
    return recording.id


def waiting_recordings(now: datetime) -> QuerySet[Recording]:
    """Return what a reader may take: what waits, and what a reader that fell silent had."""
    silent = Q(state=ReadingState.READING) & (Q(alive_at__lt=now - SILENT_AFTER) | Q(alive_at=None))
    return Recording.objects.filter(Q(state=ReadingState.WAITING) | silent)


def _claim(worker: str, now: datetime, only: UUID | None) -> Recording | None:
    free = waiting_recordings(now) if only is None else waiting_recordings(now).filter(id=only)
    for recording_id in list(free.order_by("added_at").values_list("id", flat=True)):
        mine = free.filter(id=recording_id)
        if mine.update(state=ReadingState.READING, worker=worker, alive_at=now, progress=0, failure=None):
            return Recording.objects.select_related("dog").get(id=recording_id)
    return None


@dataclass
class _Watch:
    """Keeps the row's progress fresh, and notices that the reading is not wanted any more."""

    recording: Recording
    worker: str
    clock: Callable[[], datetime]
    shown: Told | None
    said_at: datetime | None = None

    def told(self, share: float) -> None:
        if self.shown is not None:
            self.shown(share)
        now = self.clock()
        if self.said_at is not None and now - self.said_at < TOLD_EVERY:
            return
        self.said_at = now
        if not _own(self.recording, self.worker).update(progress=min(max(share, 0.0), 1.0), alive_at=now):
            raise Cancelled

    def require_wanted(self) -> None:
        if not _own(self.recording, self.worker).exists():
            raise Cancelled


def _own(recording: Recording, worker: str) -> Any:
    return Recording.objects.filter(id=recording.id, state=ReadingState.READING, worker=worker)


def _keep(recording: Recording, worker: str, heard: Heard, now: datetime) -> None:
    with transaction.atomic():
        if not _own(recording, worker).update(
            state=ReadingState.READ,
            progress=1,
            alive_at=now,
            duration_s=heard.duration_s,
            quality=dict(heard.quality),
            result=dict(heard.result),
        ):
            raise Cancelled
        stale = RecordingEvent.objects.filter(recording=recording, judgements=None)
        stale.exclude(source=EventSource.HAND).delete()
        judged = [(row.start_s, row.kind) for row in RecordingEvent.objects.filter(recording=recording)]
        voices = {voice.name: voice.id for voice in recording.voices.defer("model")}
        RecordingEvent.objects.bulk_create(
            _row(recording, event, embedding, voices.get(event.speaker))
            for event, embedding in heard.events
            if not _is_known(event, judged)
        )
        _audit(recording, "read-recording", now, events=len(heard.events))


def _is_known(event: Event, judged: Sequence[tuple[float, str]]) -> bool:
    """Say whether a person has judged this very sound already, in an earlier reading."""
    return any(kind == event.kind and abs(start_s - event.start_s) <= SAME_WITHIN_S for start_s, kind in judged)


def _row(recording: Recording, event: Event, embedding: bytes | None, voice_id: UUID | None) -> RecordingEvent:
    return RecordingEvent(
        workspace_id=recording.workspace_id,
        recording=recording,
        start_s=event.start_s,
        end_s=event.end_s,
        kind=event.kind,
        label=event.label,
        confidence=event.confidence,
        source=event.source,
        in_talk=event.in_talk,
        exact=event.exact,
        behaviour=event.behaviour,
        speaker=event.speaker,
        embedding=embedding,
        voice_id=None if embedding is None else voice_id,
    )


def _fail(recording: Recording, worker: str, error: BaseException, now: datetime) -> None:
    with transaction.atomic():
        if _own(recording, worker).update(
            state=ReadingState.FAILED, failure=told_of(error, recording.file_name), alive_at=now
        ):
            _audit(recording, "fail-recording", now)


def told_of(error: BaseException, name: str) -> list[Any]:
    """Return what went wrong as a sentence that a row keeps: [template, figures].

    name: what was being read, as its person knows it; the file on the disk is called otherwise.
    """
    refusal = error if isinstance(error, PupilageError) else explain(error, name)
    if refusal is None:
        said = Sentence(
            "The machine ran out of memory at “{file}”; close other programs and read it again.",
            {"file": name},
        )
    elif isinstance(refusal, InvalidInput) and refusal.problems:
        said = refusal.problems[0].sentence  # its own sentence holds them untranslated
    else:
        said = refusal.sentence
    return [said.template, {key: name if key == "name" else value for key, value in said.figures.items()}]


def cancel_reading(actor: Actor, recording_id: UUID, *, now: datetime) -> None:
    """Stop a reading that waits or runs; what was heard before stays. Idempotent. Who may: whoever may write."""
    recording = recording_writable_by(actor, recording_id)
    with transaction.atomic():
        running = Recording.objects.filter(
            id=recording.id, state__in=(ReadingState.WAITING, ReadingState.READING, ReadingState.ARRIVING)
        )
        if running.update(state=ReadingState.CANCELLED):
            audit(actor, "cancel-reading", str(recording.id), now=now)


def read_again(actor: Actor, recording_id: UUID, *, now: datetime) -> None:
    """Let a recording wait for its reader once more, as after a word was taught. Who may: whoever may write."""
    recording = recording_writable_by(actor, recording_id)
    with transaction.atomic():
        ended = Recording.objects.filter(
            id=recording.id,
            has_file=True,
            n_bytes=recording.size_bytes,
            state__in=(ReadingState.READ, ReadingState.FAILED, ReadingState.CANCELLED),
        )
        if ended.update(state=ReadingState.WAITING, progress=0, failure=None):
            audit(actor, "read-again", str(recording.id), now=now)
            transaction.on_commit(wake_reader)


def _audit(recording: Recording, action: str, now: datetime, **detail: int) -> None:
    AuditEntry.objects.create(
        workspace_id=recording.workspace_id, action=action, subject=str(recording.id), detail=detail, at=now
    )
