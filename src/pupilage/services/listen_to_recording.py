"""Reading one recording: its captions, its sound, or both, into events that a person then checks."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from pupilage.core.recordings.captions.reading import read_captions
from pupilage.core.recordings.captions.timed_text import TimedText
from pupilage.core.recordings.combining import combine_events
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.quality import Quality
from pupilage.core.recordings.reading import Purpose, WordRole
from pupilage.core.recordings.vocabulary import Phrase, find_events
from pupilage.core.words import Sentence, sentence
from pupilage.services.bring_recording import is_captions
from pupilage.services.read_waiting import Heard, Told
from pupilage.storage import recording_files
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Recording, VoiceWord

USUAL_MARKERS = ("yes", "good")
"""What a marker is called where nobody has said so (common practice, no source)."""


def listen(recording: Recording, told: Told) -> Heard:
    """Return what stands in a recording's captions and sound. The only reader of `read_waiting`.

    Raises InvalidInput in words for a file that cannot be read.
    """
    text = _captions_of(recording)
    read = [] if text is None else find_events(text, vocabulary_of(recording))
    warnings = [] if text is None else list(text.warnings)
    if is_captions(recording.file_name):
        end_s = max((word.end_s for word in text.words), default=0.0) if text else 0.0
        return Heard([(event, None) for event in read], end_s, {"remarks": _stored(warnings)}, {})
    if recording.purpose == Purpose.ALONE:
        return _hear_home(recording, told, read, warnings)
    return _hear_session(recording, told, read, warnings)


def vocabulary_of(recording: Recording) -> list[Phrase]:
    """Return the words to look for in captions: the voice's own, or the catalogue's cues where none is taught."""
    if recording.voice_id is not None:
        words = VoiceWord.objects.filter(voice_id=recording.voice_id, retired_at=None)
        own = [Phrase(w.text, EventKind(w.role), w.behaviour) for w in words if w.role in _SPOKEN]
        if own:
            return own
    cues = {one.cue.casefold(): Phrase(one.cue, EventKind.CUE, one.key) for one in _cued(recording)}
    markers = [Phrase(word, EventKind.MARKER) for word in USUAL_MARKERS if word not in cues]
    return [*cues.values(), *markers]


_SPOKEN = frozenset({
    WordRole.CUE, WordRole.MARKER, WordRole.RELEASE, WordRole.PRAISE, WordRole.NAME, WordRole.REWARD, WordRole.IGNORE,
})  # fmt: skip


def _cued(recording: Recording) -> Sequence[Any]:
    """Return the behaviours with a cue, the goals of the stay last, so that theirs stands where two share a word."""
    goals = set(recording.programme.goals.values_list("behaviour", flat=True)) if recording.programme else set()
    cued = [one for one in load_catalogue().behaviours.values() if one.cue]
    return sorted(cued, key=lambda one: one.key in goals)


def _captions_of(recording: Recording) -> TimedText | None:
    file = recording_files.captions_file(recording.id)
    if is_captions(recording.file_name):
        file = recording_files.recording_file(recording.id)
    return read_captions(file.read_bytes()) if file.exists() else None


def _hear_home(recording: Recording, told: Told, read: Sequence[Event], warnings: list[Sentence]) -> Heard:
    from pupilage.storage.sound.home import listen_to_home

    home = listen_to_home(recording_files.recording_file(recording.id), told)
    alone = home.alone
    result = {
        "bouts": [list(bout) for bout in alone.for_the_log()],
        "first_after_s": alone.first_after_s,
        "quiet_s": list(alone.quiet),
        "share": alone.share,
        "n_unreadable_min": alone.n_unreadable_min,
        "doubt": None if alone.doubt is None else _stored([alone.doubt])[0],
    }
    events = combine_events(home.events, read)
    return Heard([(event, None) for event in events], home.quality.duration_s, _facts(home.quality, warnings), result)


def _hear_session(recording: Recording, told: Told, read: Sequence[Event], warnings: list[Sentence]) -> Heard:
    from pupilage.storage.sound.room import listen_to_room

    room = listen_to_room(recording_files.recording_file(recording.id), told)
    if not read:
        warnings = [*warnings, NO_WORDS]
    facts, result = _facts(room.quality, warnings), {"onsets_s": list(room.onsets_s)}
    return Heard([(event, None) for event in read], room.quality.duration_s, facts, result)


NO_WORDS = sentence(
    "No word can be heard in it yet: nobody's words are taught. Put captions of the recording beside it, or add what "
    "you said by tapping while it plays."
)


def _facts(quality: Quality, warnings: Sequence[Sentence]) -> dict[str, Any]:
    """Return the quality and what a person should know, as JSON keeps them."""
    figures = {name: value for name, value in asdict(quality).items() if name != "reasons"}
    return {**figures, "reasons": _stored(quality.reasons), "remarks": _stored(warnings)}


def _stored(sentences: Sequence[Sentence]) -> list[list[Any]]:
    return [[one.template, dict(one.figures)] for one in sentences]
