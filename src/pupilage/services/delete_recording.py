"""Deleting a recording, or only its sound: for good."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.services.auditing import audit
from pupilage.storage import recording_files
from pupilage.storage.erasing import empty_log, overwrite_deleted
from pupilage.storage.models import Recording, VoiceSample
from pupilage.storage.queries.recordings import recording_writable_by


def delete_recording(actor: Actor, recording_id: UUID, *, now: datetime) -> None:
    """Delete a recording with its sound, what was heard in it and what was said of that. Who may: whoever may write.

    What it taught a voice stays as numbers without sound, and trials that a person confirmed stay in their session:
    both have their own deletion. A backup made before still has it; the page says so.
    """
    recording = recording_writable_by(actor, recording_id)
    overwrite_deleted()
    with transaction.atomic():
        _forget_samples(recording)
        recording.delete()
        audit(actor, "delete-recording", str(recording_id), now=now)
    recording_files.delete_files(recording_id)
    empty_log()


def delete_sound(actor: Actor, recording_id: UUID, *, now: datetime) -> None:
    """Delete only the bytes of a recording; what was heard and judged stays. Idempotent."""
    recording = recording_writable_by(actor, recording_id)
    overwrite_deleted()
    with transaction.atomic():
        _forget_samples(recording)
        if Recording.objects.filter(id=recording.id, has_file=True).update(has_file=False):
            audit(actor, "delete-sound", str(recording.id), now=now)
    recording_files.delete_files(recording_id)
    empty_log()


def _forget_samples(recording: Recording) -> None:
    """Delete the sound of its examples; those that nothing was learned from yet are nothing but sound."""
    samples = VoiceSample.objects.filter(recording=recording)
    samples.filter(numbers=b"").delete()
    samples.update(sound=None)
