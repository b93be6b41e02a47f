"""Voices: making one, giving it another name, putting it aside, choosing whose voices are in a recording."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.reading import ReadingState
from pupilage.services.auditing import audit
from pupilage.storage.erasing import empty_log, overwrite_deleted
from pupilage.storage.models import Recording, RecordingEvent, RecordingVoice, Voice, VoiceSample
from pupilage.storage.queries.recordings import recording_writable_by
from pupilage.storage.queries.voices import chosen_voices, voice_writable_by
from pupilage.storage.reader_process import wake_reader

LONGEST_NAME = 80


@dataclass(frozen=True)
class VoiceEntry:
    """A person who gives cues, or a set of words of theirs. keep_sound: of samples, after they were learned from."""

    name: str
    keep_sound: bool = False
    retired: bool = False


def keep_voice(actor: Actor, entry: VoiceEntry, *, now: datetime, voice_id: UUID | None = None) -> UUID:
    """Make a voice, or change the one of that id, and return its id. One transaction.

    Who may: whoever may write. Without keep_sound, the sound of samples that were learned from is deleted at once.
    Raises InvalidInput for no name and for one that is taken.
    """
    actor.require_write()
    voice = voice_writable_by(actor, voice_id) if voice_id else Voice(id=uuid4(), workspace_id=actor.workspace_id)
    name = voice_name(entry.name)
    if Voice.objects.filter(workspace_id=actor.workspace_id, name__iexact=name).exclude(id=voice.id).exists():
        raise InvalidInput.of("name", "There is a voice called “{name}” already; choose another name.", name=name)
    overwrite_deleted()
    retired_at = (voice.retired_at or now) if entry.retired else None
    with transaction.atomic():
        if voice_id and voice.name != name:
            _call(voice, name)
        voice.name, voice.keep_sound, voice.retired_at = name, entry.keep_sound, retired_at
        voice.save(update_fields=["name", "keep_sound", "retired_at"] if voice_id else None)
        if not entry.keep_sound:
            VoiceSample.objects.filter(word__voice=voice).exclude(numbers=b"").update(sound=None)
        audit(actor, "keep-voice", str(voice.id), now=now, keep_sound=entry.keep_sound, retired=entry.retired)
    if voice_id:
        empty_log()
    return voice.id


def voice_name(given: str) -> str:
    """Return a name as it is kept: in one line, not too long. Raises InvalidInput for none."""
    name = " ".join(given.split())[:LONGEST_NAME]
    if not name:
        raise InvalidInput.of("name", "Say who it is, as “Wren” or “Wren, with gloves on”.")
    return name


def _call(voice: Voice, name: str) -> None:
    """Give what was heard of a voice, in every recording, the name that it has from now on."""
    RecordingEvent.objects.filter(workspace_id=voice.workspace_id, speaker=voice.name).update(speaker=name)


def delete_voice(actor: Actor, voice_id: UUID, *, now: datetime) -> None:
    """Delete a voice with its words, its samples and all that was learned of them, for good. Who may: who may write.

    What was heard in recordings stays there, without its name and the numbers it was heard by. A backup made before
    still has it.
    """
    voice = voice_writable_by(actor, voice_id)
    overwrite_deleted()
    with transaction.atomic():
        _call(voice, "")
        RecordingEvent.objects.filter(voice=voice).update(embedding=None)
        voice.delete()
        audit(actor, "delete-voice", str(voice_id), now=now)
    empty_log()


def choose_voices(actor: Actor, recording_id: UUID, voice_ids: Sequence[UUID], *, now: datetime) -> None:
    """Say who gives cues in a recording, and let it be read again where its sound is kept. Who may: who may write."""
    recording = recording_writable_by(actor, recording_id)
    voices = chosen_voices(actor, tuple(voice_ids))
    with transaction.atomic():
        set_voices(recording, voices)
        ended = Recording.objects.filter(
            id=recording.id,
            has_file=True,
            n_bytes=recording.size_bytes,
            state__in=(ReadingState.READ, ReadingState.FAILED, ReadingState.CANCELLED),
        )
        ended.update(state=ReadingState.WAITING, progress=0, failure=None)
        audit(actor, "choose-voices", str(recording.id), now=now, voices=len(voices))
        transaction.on_commit(wake_reader)


def set_voices(recording: Recording, voices: Sequence[Voice]) -> None:
    """Write down whose voices a recording has, inside the caller's transaction."""
    RecordingVoice.objects.filter(recording=recording).exclude(voice__in=voices).delete()
    for voice in voices:
        RecordingVoice.objects.get_or_create(
            workspace_id=recording.workspace_id, recording=recording, voice=voice, defaults={"id": uuid4()}
        )
