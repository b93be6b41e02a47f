"""Voices, their words and samples, scoped by who asks."""

from uuid import UUID

from django.db.models import QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.storage.models import Voice, VoiceSample, VoiceWord

GONE_VOICE = "There is no such voice here; choose one from the list."


def voices_readable_by(actor: Actor) -> QuerySet[Voice]:
    """Return the voices of the actor's workspace by name, without the bytes of what was learned."""
    return Voice.objects.filter(workspace_id=actor.workspace_id).defer("model").order_by("name", "id")


def voice_readable_by(actor: Actor, voice_id: UUID) -> Voice:
    """Return one voice. Raises NotFound for an unknown one and for another workspace's."""
    voice = voices_readable_by(actor).filter(id=voice_id).first()
    if voice is None:
        raise NotFound(GONE_VOICE)
    return voice


def voice_writable_by(actor: Actor, voice_id: UUID) -> Voice:
    """Return one voice to change. Raises Forbidden for a reader, NotFound as above."""
    actor.require_write()
    return voice_readable_by(actor, voice_id)


def word_writable_by(actor: Actor, word_id: UUID) -> VoiceWord:
    """Return one word with its voice, to change. Raises Forbidden for a reader, NotFound for an unknown one."""
    actor.require_write()
    rows = VoiceWord.objects.filter(workspace_id=actor.workspace_id).select_related("voice").defer("voice__model")
    word = rows.filter(id=word_id).first()
    if word is None:
        raise NotFound("There is no such word here; it may have been deleted. Load the page again.")
    return word


def sample_readable_by(actor: Actor, sample_id: UUID) -> VoiceSample:
    """Return one sample with its word and recording. Raises NotFound for an unknown one."""
    rows = VoiceSample.objects.filter(workspace_id=actor.workspace_id).select_related("word", "recording")
    sample = rows.filter(id=sample_id).first()
    if sample is None:
        raise NotFound("There is no such example here; it may have been deleted. Load the page again.")
    return sample


def chosen_voices(actor: Actor, voice_ids: tuple[UUID, ...]) -> list[Voice]:
    """Return the voices of these ids. Raises NotFound where one of them is not of this workspace."""
    wanted = dict.fromkeys(voice_ids)
    found = list(voices_readable_by(actor).filter(id__in=wanted))
    if len(found) != len(wanted):
        raise NotFound(GONE_VOICE)
    return found
