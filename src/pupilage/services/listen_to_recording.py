"""Reading one recording: its captions, its sound, or both, into events that a person then checks."""

from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from django.conf import settings

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.captions.reading import read_captions
from pupilage.core.recordings.captions.timed_text import TimedText
from pupilage.core.recordings.combining import combine_events
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.noises.quality import Quality
from pupilage.core.recordings.reading import SPOKEN_ROLES, Purpose
from pupilage.core.recordings.vocabulary import Phrase, find_events
from pupilage.core.recordings.words.several import likeliest_of_each
from pupilage.core.words import Sentence, sentence
from pupilage.services.bring_recording import is_captions
from pupilage.services.long_work import Told
from pupilage.services.read_waiting import Heard
from pupilage.storage import recording_files
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Recording, VoiceWord

USUAL_MARKERS = ("yes", "good")
"""What a marker is called where nobody has said so (common practice, no source)."""


def listen(recording: Recording, told: Told) -> Heard:
    """Return what stands in a recording's captions and sound. The only reader of `read_waiting`.

    Raises InvalidInput in words for a file that cannot be read.
    """
    text, warnings = _captions_of(recording)
    read = [] if text is None else find_events(text, vocabulary_of(recording))
    if is_captions(recording.file_name):
        end_s = max((word.end_s for word in text.words), default=0.0) if text else 0.0
        return Heard([(event, None) for event in read], end_s, {"remarks": _stored(warnings)}, {})
    if recording.purpose == Purpose.ALONE:
        return _hear_home(recording, told, read, warnings)
    return _hear_session(recording, told, read, warnings)


def vocabulary_of(recording: Recording) -> list[Phrase]:
    """Return the words to look for in captions: the voice's own, or the catalogue's cues where none is taught."""
    words = VoiceWord.objects.filter(voice__in=recording.voices.all(), retired_at=None).order_by("voice__name", "text")
    own = [Phrase(w.text, EventKind(w.role), w.behaviour) for w in words if w.role in SPOKEN_ROLES]
    if own:
        return list({(one.text.casefold(), one.kind): one for one in own}.values())
    cues = {one.cue.casefold(): Phrase(one.cue, EventKind.CUE, one.key) for one in _cued(recording)}
    markers = [Phrase(word, EventKind.MARKER) for word in USUAL_MARKERS if word not in cues]
    return [*cues.values(), *markers]


def _cued(recording: Recording) -> Sequence[Any]:
    """Return the behaviours with a cue, the goals of the stay last, so that theirs stands where two share a word."""
    goals = set(recording.programme.goals.values_list("behaviour", flat=True)) if recording.programme else set()
    cued = [one for one in load_catalogue().behaviours.values() if one.cue]
    return sorted(cued, key=lambda one: one.key in goals)


def _captions_of(recording: Recording) -> tuple[TimedText | None, list[Sentence]]:
    """Return the captions and what to know of them; those beside a sound must not keep it from being heard."""
    if is_captions(recording.file_name):
        text = read_captions(recording_files.recording_file(recording.id).read_bytes())
        return text, list(text.warnings)
    file = recording_files.captions_file(recording.id)
    if not file.exists():
        return None, []
    try:
        text = read_captions(file.read_bytes())
    except InvalidInput as error:
        why = [problem.sentence for problem in error.problems]
        return None, [sentence(CAPTIONS_LEFT_OUT, name=recording.captions_name), *why]
    return text, list(text.warnings)


def _hear_home(recording: Recording, told: Told, read: Sequence[Event], warnings: list[Sentence]) -> Heard:
    from pupilage.storage.sound.home import listen_to_home

    file = recording_files.recording_file(recording.id)
    home = listen_to_home(file, told, model=event_model())
    warnings = [*warnings, *track_remarks(file, home.quality.duration_s)]
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


def event_model() -> Any:
    """Return the sound-event model that this installation's user supplies, None where none is named.

    Raises InvalidInput, in words, where only one of its two files is named, or either cannot be used.
    """
    model, classes = settings.SOUND_MODEL, settings.SOUND_MODEL_CLASSES
    if not model and not classes:
        return None
    if not model or not classes:
        raise InvalidInput.of(
            "model", "A sound model needs two files: set PUPILAGE_SOUND_MODEL and PUPILAGE_SOUND_CLASSES both."
        )
    from pupilage.storage.sound.event_model import OnnxEventModel

    if not Path(model).is_file():
        told = "There is no sound model “{name}”; check PUPILAGE_SOUND_MODEL."
        raise InvalidInput.of("model", told, name=Path(model).name)
    return OnnxEventModel(Path(model), Path(classes))


def _hear_session(recording: Recording, told: Told, read: Sequence[Event], warnings: list[Sentence]) -> Heard:
    from pupilage.services.ears import listeners_of, remarks_on
    from pupilage.storage.sound.session import listen_to_session

    listeners = listeners_of(recording)
    file = recording_files.recording_file(recording.id)
    session = listen_to_session(file, [one.ears for one in listeners], told)
    heard: dict[str, tuple[Event, bytes | None]] = {}
    for listener, things in zip(listeners, session.heard, strict=True):
        for thing in things:
            event = listener.told_as(thing.event)
            if event is not None:
                key = f"heard {len(heard)}"
                stack = None if thing.stack is None else thing.stack.astype("<f2").tobytes()
                heard[key] = (replace(event, id=key), stack)
    kept = likeliest_of_each(event for event, _ in heard.values())
    events = combine_events(kept, read)
    on_tracks = track_remarks(file, session.quality.duration_s)
    warnings = [*warnings, *on_tracks, *_unheard(listeners, read), *remarks_on(listeners)]
    return Heard(
        [(replace(event, id=""), heard[event.id][1] if event.id in heard else None) for event in events],
        session.quality.duration_s,
        _facts(session.quality, warnings),
        {"onsets_s": list(session.onsets_s)},
    )


def _unheard(listeners: Sequence[Any], read: Sequence[Event]) -> list[Sentence]:
    """Return what to do where nobody's words are known, neither from teaching nor from captions."""
    return [] if listeners or read else [NO_WORDS]


def track_remarks(file: Path, end_s: float) -> list[Sentence]:
    """Return what a person should know of a file's tracks: several sounds or languages, captions within, a lost end.

    end_s: where the sound was found to end.
    """
    from pupilage.storage.sound.decoding import read_track

    track = read_track(file)
    told = []
    if track.n_tracks > 1:
        named = ", ".join(dict.fromkeys(one for one in track.languages if one)) or "–"
        told.append(sentence(SEVERAL_TRACKS, n=track.n_tracks, languages=named))
    if track.n_captions > 1:
        told.append(sentence(SEVERAL_CAPTIONS, n=track.n_captions))
    elif track.n_captions:
        told.append(sentence(CAPTIONS_WITHIN))
    if track.starts_s > LATE_FROM_S:
        told.append(sentence(STARTS_LATE, start_s=track.starts_s))
    if track.duration_s is not None and end_s < track.duration_s - SHORT_FROM_S:
        told.append(sentence(ENDS_EARLY, end_s=end_s, length_s=track.duration_s))
    return told


LATE_FROM_S = 0.5
SHORT_FROM_S = 2.0
"""The sound of a whole video may end so long before its picture."""
SEVERAL_TRACKS = (
    "This file holds {n} sound tracks (languages: {languages}); the first was read. If you speak on another one, take "
    "that track out into a file of its own."
)
SEVERAL_CAPTIONS = (
    "This file holds {n} tracks of captions inside; none of them was read. Put the one in your language beside it as a "
    "file."
)
CAPTIONS_WITHIN = "This file holds captions inside; they were not read. Put them beside it as a file."
ENDS_EARLY = (
    "The sound ends at {end_s:.1f} s, though the file says that it lasts {length_s:.1f} s; it may have been cut short "
    "when it was copied."
)
CAPTIONS_LEFT_OUT = "The captions “{name}” beside it were left out, for the reason that stands next."
STARTS_LATE = "The sound begins {start_s:.1f} s after the picture; all times are the player's."

NO_WORDS = sentence(
    "No word can be heard in it yet: nobody's words are taught for it. Teach a voice and choose it on the recording's "
    "page, put captions beside it, or add what you said by tapping while it plays."
)


def _facts(quality: Quality, warnings: Sequence[Sentence]) -> dict[str, Any]:
    """Return the quality and what a person should know, as JSON keeps them."""
    figures = {name: value for name, value in asdict(quality).items() if name != "reasons"}
    return {**figures, "reasons": _stored(quality.reasons), "remarks": _stored(warnings)}


def _stored(sentences: Sequence[Sentence]) -> list[list[Any]]:
    return [[one.template, dict(one.figures)] for one in sentences]
