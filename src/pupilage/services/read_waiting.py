"""The reader of recordings: takes one that waits, reads it outside any request, and writes down what was heard.

A recording whose reader died is read from its start again. What a person has judged meanwhile is never lost: only what
nobody has looked at is replaced.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import PupilageError
from pupilage.core.recordings.events import Event, EventSource
from pupilage.core.recordings.reading import ReadingState
from pupilage.services.auditing import audit
from pupilage.services.long_work import RECORDINGS, Clock, Job, Told, Unwanted
from pupilage.storage import recording_files
from pupilage.storage.models import Recording, RecordingEvent
from pupilage.storage.queries.recordings import recording_writable_by
from pupilage.storage.reader_process import wake_reader

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


Hear = Callable[[Recording, Told], Heard]


def read_waiting(
    worker: str, hear: Hear, clock: Clock, *, only: UUID | None = None, told: Told | None = None
) -> UUID | None:
    """Read the recording that waits longest, or `only` that one, and return its id; None when nothing waits.

    Who may: the command line on the machine itself. Whatever goes wrong stands with the recording as a sentence that
    says what to do; nothing half-read is kept.
    """
    job = RECORDINGS.take(worker, clock, only=only, shown=told)
    if job is None:
        return None
    recording = job.row
    try:
        try:
            heard = hear(recording, job.told)
            job.require_wanted()  # before the rest is made ready
            _keep(job, heard)
        except (PupilageError, OSError, MemoryError) as error:
            with transaction.atomic():
                job.fail(error, recording.file_name)
                job.audit("fail-recording")
    except Unwanted:
        pass
    return recording.id


def _keep(job: Job[Recording], heard: Heard) -> None:
    recording = job.row
    with transaction.atomic():
        job.put(
            state=ReadingState.READ,
            progress=1,
            alive_at=job.clock(),
            duration_s=heard.duration_s,
            quality=dict(heard.quality),
            result=dict(heard.result),
        )
        stale = RecordingEvent.objects.filter(recording=recording, judgements=None)
        stale.exclude(source=EventSource.HAND).delete()
        judged = [(row.start_s, row.kind) for row in RecordingEvent.objects.filter(recording=recording)]
        voices = {voice.name: voice.id for voice in recording.voices.defer("model")}
        RecordingEvent.objects.bulk_create(
            _row(recording, event, embedding, voices.get(event.speaker))
            for event, embedding in heard.events
            if not _is_known(event, judged)
        )
        job.audit("read-recording", events=len(heard.events))


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


def cancel_reading(actor: Actor, recording_id: UUID, *, now: datetime) -> None:
    """Stop a reading that waits or runs; what was heard before stays. Idempotent. Who may: whoever may write.

    Of a recording that is still arriving nothing is left: half a file is none.
    """
    recording = recording_writable_by(actor, recording_id)
    with transaction.atomic():
        rows = Recording.objects.filter(id=recording.id)
        n_gone, _ = rows.filter(state=ReadingState.ARRIVING).delete()
        running = rows.filter(state__in=(ReadingState.WAITING, ReadingState.READING))
        if n_gone or running.update(state=ReadingState.CANCELLED):
            audit(actor, "cancel-reading", str(recording.id), now=now)
    if n_gone:
        recording_files.delete_files(recording.id)


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
