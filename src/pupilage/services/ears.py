"""What a recording's people are heard by: the model, the clicks and the whistles of each voice, and their own words."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.clicks import ClickSound
from pupilage.core.recordings.noises.whistles import WhistleSound
from pupilage.core.recordings.reading import WordRole
from pupilage.core.recordings.words.model import WordModel
from pupilage.core.words import Sentence, sentence
from pupilage.storage.models import Recording, Voice, VoiceWord
from pupilage.storage.sound.embedding import MODEL_SHA256
from pupilage.storage.sound.session import Ears


@dataclass(frozen=True)
class Listener:
    """One voice and what it is heard by; what is heard is labelled by the id of its word until `told_as` names it."""

    voice: Voice
    ears: Ears
    words: dict[str, VoiceWord]

    @property
    def can_hear(self) -> bool:
        return self.ears.model is not None or self.ears.hears_noises

    def told_as(self, event: Event) -> Event | None:
        """Return an event in its word's own letters, as the word is called now; None for a word that is gone."""
        word = self.words.get(event.label)
        if word is None:
            return None
        kind, behaviour = EventKind(word.role), word.behaviour
        return replace(event, kind=kind, label=word.text, behaviour=behaviour, speaker=self.voice.name)


def listeners_of(recording: Recording) -> list[Listener]:
    """Return the voices of a recording, each with what was learned of it."""
    return [_listener(voice) for voice in recording.voices.order_by("name")]


def remarks_on(listeners: Iterable[Listener]) -> list[Sentence]:
    """Return what a person should know of the voices: those that have not learned anything yet."""
    told = (
        "Nothing of {voice} is learned yet, so none of their words can be heard: teach three examples of each word, "
        "and let them be learned."
    )
    return [sentence(told, voice=one.voice.name) for one in listeners if not one.can_hear]


def _listener(voice: Voice) -> Listener:
    words = {str(word.id): word for word in voice.words.filter(retired_at=None).prefetch_related("samples")}
    model = WordModel.from_bytes(bytes(voice.model), MODEL_SHA256) if voice.model else None
    clicks = {label: _clicks(word) for label, word in words.items() if word.role == WordRole.CLICK}
    whistles = [_whistle(label, word) for label, word in words.items() if word.role == WordRole.WHISTLE]
    heard = {label: box for label, box in clicks.items() if box is not None}
    ears = Ears(model, heard, tuple(pipe for pipe in whistles if pipe is not None))
    return Listener(voice, ears, words)


def _clicks(word: VoiceWord) -> ClickSound | None:
    """Return a clicker of three samples or more; with fewer it is not listened for."""
    try:
        return ClickSound.joined([ClickSound.from_bytes(bytes(one.numbers)) for one in word.samples.all()])
    except InvalidInput:
        return None


def _whistle(label: str, word: VoiceWord) -> WhistleSound | None:
    try:
        return WhistleSound.joined(label, [WhistleSound.from_bytes(bytes(one.numbers)) for one in word.samples.all()])
    except InvalidInput:
        return None
