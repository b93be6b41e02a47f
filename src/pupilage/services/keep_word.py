"""Words of a voice: adding one in any language, calling it otherwise, deleting it with its samples."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.recordings.reading import TAUGHT, WordRole
from pupilage.services.auditing import audit
from pupilage.services.learn_voice import is_learned_from, unlearn
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.erasing import empty_log, overwrite_deleted
from pupilage.storage.models import Voice, VoiceWord
from pupilage.storage.queries.voices import voice_writable_by, word_writable_by

LONGEST_WORD = 80


@dataclass(frozen=True)
class WordEntry:
    """One word as its voice says it, what it is for, and for a cue the behaviour that it asks for ("" for none)."""

    text: str
    role: WordRole
    behaviour: str = ""


def keep_word(actor: Actor, voice_id: UUID, entry: WordEntry, *, now: datetime, word_id: UUID | None = None) -> UUID:
    """Add a word to a voice, or change the one of that id, and return its id. One transaction.

    Who may: whoever may write. A word that is there already is returned as it is. Raises InvalidInput for no word, a
    role that is not taught here, a behaviour that the catalogue does not have, and a word that another one is called.
    """
    word = word_writable_by(actor, word_id) if word_id else None
    voice = word.voice if word else voice_writable_by(actor, voice_id)
    text = " ".join(entry.text.split())[:LONGEST_WORD]
    require_word(entry)
    twin = VoiceWord.objects.filter(voice=voice, text__iexact=text, role=entry.role).first()
    if twin is not None and word is None:
        return twin.id
    if twin is not None and word is not None and twin.id != word.id:
        raise InvalidInput.of("text", "“{word}” is among the words of {voice} already.", word=text, voice=voice.name)
    word = word or VoiceWord(id=uuid4(), workspace_id=actor.workspace_id, voice=voice)
    if word.samples.exists() and is_sound(WordRole(word.role)) != is_sound(entry.role):
        raise InvalidInput.of("role", "“{word}” has examples of another kind of sound; add it anew.", word=text)
    with transaction.atomic():
        word.text, word.role, word.retired_at = text, entry.role, None
        word.behaviour = entry.behaviour if entry.role is WordRole.CUE else ""
        word.save()
        audit(actor, "keep-word", str(word.id), now=now, role=entry.role.value)
    return word.id


def is_sound(role: WordRole) -> str:
    """Return which kind of example a role has: words alike teach alike, the others each by themselves."""
    own = (WordRole.CLICK, WordRole.WHISTLE, WordRole.TALK, WordRole.BACKGROUND)
    return role.value if role in own else "word"


def stretch_of(actor: Actor, voice: Voice, role: WordRole) -> VoiceWord:
    """Return the one word that holds a voice's stretches of talk, or of background; made where it is missing."""
    word, _ = VoiceWord.objects.get_or_create(
        workspace_id=actor.workspace_id, voice=voice, role=role, text=role.value, defaults={"id": uuid4()}
    )
    return word


def voice_of_word(actor: Actor, word_id: UUID) -> UUID:
    """Return whose word it is. Who may: whoever may write."""
    return word_writable_by(actor, word_id).voice_id


def delete_word(actor: Actor, word_id: UUID, *, now: datetime) -> UUID:
    """Delete a word with its samples, for good, and return its voice. The rest, if it was learned, is so anew."""
    word = word_writable_by(actor, word_id)
    overwrite_deleted()
    with transaction.atomic():
        is_stale = is_learned_from(word.samples.all())
        word.delete()
        if is_stale:
            unlearn(word.voice_id, now=now)
        audit(actor, "delete-word", str(word_id), now=now)
    empty_log()
    return word.voice_id


def require_word(entry: WordEntry) -> None:
    """Refuse what is no word to be taught. Raises InvalidInput as `keep_word` does."""
    problems = []
    if not entry.text.split():
        problems.append(Problem("text", "Write the word as you would say it; any language will do."))
    if entry.role not in TAUGHT:
        problems.append(Problem("role", "“{given}” is not taught here.", given=entry.role.value))
    if entry.role is WordRole.CUE and entry.behaviour and load_catalogue().find_behaviour(entry.behaviour) is None:
        problems.append(Problem("behaviour", "“{given}” is no behaviour of the catalogue.", given=entry.behaviour))
    if problems:
        raise InvalidInput(problems)
