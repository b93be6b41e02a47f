"""Examples of a word: cut where somebody tapped in a recording, out of a short sound, or between two times."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, NotFound, Problem
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.reading import SPOKEN_ROLES, STRETCHES, WordRole
from pupilage.core.recordings.words.samples import SHORTEST_S
from pupilage.core.words import Sentence, sentence
from pupilage.services.auditing import audit
from pupilage.services.bring_recording import is_captions
from pupilage.services.keep_word import WordEntry, require_word, stretch_of
from pupilage.services.learn_voice import is_learned_from, unlearn
from pupilage.storage.erasing import empty_log, overwrite_deleted
from pupilage.storage.models import Recording, VoiceSample, VoiceWord
from pupilage.storage.queries.recordings import recording_readable_by
from pupilage.storage.queries.voices import sample_readable_by, voice_writable_by, word_writable_by
from pupilage.storage.recording_files import recording_file
from pupilage.storage.sound.samples import (
    LONGEST_STRETCH_S,
    SHORTEST_STRETCH_S,
    Cut,
    cut_from_clip,
    cut_from_recording,
    cut_stretch,
)

LARGEST_BYTES = 30 << 20
SAME_WITHIN_S = 0.15
"""Two taps whose words start as near as this mean the same one."""


@dataclass(frozen=True)
class AddedSample:
    """What was cut. start_s, end_s: on the recording's clock, else on the sound's own; remarks: what to know of it."""

    id: UUID
    word_id: UUID
    start_s: float
    end_s: float
    n_samples: int
    remarks: tuple[Sentence, ...] = ()


def tap_sample(
    actor: Actor, word_id: UUID, recording_id: UUID, at_s: float, *, now: datetime, sample_id: UUID | None = None
) -> AddedSample:
    """Cut the word that a tap at `at_s` means out of a recording. One transaction; idempotent by sample_id.

    Who may: whoever may write. Raises InvalidInput where nothing stands out near the tap, where the same example is
    there already, and for a stretch, which needs two times; NotFound for a recording whose sound is not kept.
    """
    word = word_writable_by(actor, word_id)
    recording = _with_sound(actor, recording_id)
    if word.role in STRETCHES:
        raise InvalidInput.of("at_s", "A stretch needs its start and its end.")
    return _keep(
        actor, word, lambda: cut_from_recording(recording_file(recording.id), WordRole(word.role), at_s),
        recording.file_name, now=now, recording=recording, sample_id=sample_id,
    )  # fmt: skip


def add_stretch(
    actor: Actor,
    voice_id: UUID,
    recording_id: UUID,
    role: WordRole,
    times_s: tuple[float, float],
    *,
    now: datetime,
    sample_id: UUID | None = None,
) -> AddedSample:
    """Take a stretch of plain talk, or of the usual background, out of a recording: 3 to 60 s. Idempotent by id."""
    voice = voice_writable_by(actor, voice_id)
    recording = _with_sound(actor, recording_id)
    _require_stretch(*times_s)
    word = stretch_of(actor, voice, role)
    return _keep(
        actor, word, lambda: cut_stretch(recording_file(recording.id), *times_s),
        recording.file_name, now=now, recording=recording, sample_id=sample_id,
    )  # fmt: skip


def add_sound(actor: Actor, word_id: UUID, content: bytes, name: str, *, now: datetime) -> AddedSample:
    """Take an example out of a sound of its own, recorded in the browser or brought as a file; it is not kept whole.

    Who may: whoever may write. Raises InvalidInput for what cannot be read, is too long, or holds nothing to hear.
    """
    word = word_writable_by(actor, word_id)
    if not 0 < len(content) <= LARGEST_BYTES:
        raise InvalidInput.of("sound", "Bring a sound of at most {most} MB.", most=LARGEST_BYTES >> 20)
    return _keep(actor, word, lambda: cut_from_clip(content, WordRole(word.role)), name, now=now)


def try_sample(file: Path, entry: WordEntry, at_s: float) -> None:
    """Refuse an example that a file of this machine does not hold, before anything is kept of it.

    Who may: the command line on the machine itself. Raises InvalidInput as `keep_word` and `tap_sample` do.
    """
    require_word(entry)
    cut_from_recording(file, entry.role, at_s)


def try_stretch(file: Path, times_s: tuple[float, float]) -> None:
    """Refuse a stretch that a file of this machine does not hold. As `try_sample`."""
    _require_stretch(*times_s)
    cut_stretch(file, *times_s)


def remove_sample(actor: Actor, sample_id: UUID, *, now: datetime) -> UUID:
    """Delete one example for good, and return its word. Who may: whoever may write.

    A voice that was learned from it is learned anew without it.
    """
    actor.require_write()
    sample = sample_readable_by(actor, sample_id)
    overwrite_deleted()
    with transaction.atomic():
        is_stale = is_learned_from(VoiceSample.objects.filter(id=sample.id))
        sample.delete()
        if is_stale:
            unlearn(sample.word.voice_id, now=now)
        audit(actor, "remove-sample", str(sample_id), now=now)
    empty_log()
    return sample.word_id


def _with_sound(actor: Actor, recording_id: UUID) -> Recording:
    recording = recording_readable_by(actor, recording_id)
    if is_captions(recording.file_name):
        raise InvalidInput.of("recording", "Captions hold no sound; teach from a video or a sound.")
    if not recording.has_file or recording.n_bytes < recording.size_bytes:
        raise NotFound("The sound of this recording is not here; record the word in the browser instead.")
    return recording


def _keep(
    actor: Actor,
    word: VoiceWord,
    cut: Callable[[], Cut],
    name: str,
    *,
    now: datetime,
    recording: Recording | None = None,
    sample_id: UUID | None = None,
) -> AddedSample:
    known = word.samples.filter(id=sample_id).first() if sample_id else None
    if known is not None:
        start_s = known.start_s or 0.0
        return AddedSample(known.id, word.id, start_s, start_s + known.duration_s, word.samples.count())
    try:
        found = cut()
    except InvalidInput as error:
        raise InvalidInput([_called(problem, name) for problem in error.problems]) from error
    if recording is not None:
        _require_new(word, recording, found)
    held = found.sound if not found.numbers or word.voice.keep_sound else None
    with transaction.atomic():
        sample = VoiceSample.objects.create(
            id=sample_id or uuid4(),
            workspace_id=actor.workspace_id,
            word=word,
            numbers=found.numbers,
            sound=held,
            duration_s=found.duration_s,
            recording=recording,
            start_s=found.start_s if recording is not None else None,
            heard_at=now,
        )
        audit(actor, "add-sample", str(sample.id), now=now, word=str(word.id))
    n, end_s = word.samples.count(), found.start_s + found.duration_s
    return AddedSample(sample.id, word.id, found.start_s, end_s, n, tuple(_remarks(word, found)))


def _called(problem: Problem, name: str) -> Problem:
    """Return a problem with the name by which its person knows the file, which is called otherwise on the disk."""
    figures = {key: name if key == "name" else value for key, value in problem.sentence.figures.items()}
    return Problem(problem.where, problem.sentence.template, **figures)


def _require_stretch(from_s: float, to_s: float) -> None:
    if not 0.0 <= from_s < to_s or not SHORTEST_STRETCH_S <= to_s - from_s <= LONGEST_STRETCH_S:
        raise InvalidInput.of(
            "times", "From {from_s:.1f} s to {to_s:.1f} s is no stretch of {least:.0f} to {most:.0f} s.",
            from_s=from_s, to_s=to_s, least=SHORTEST_STRETCH_S, most=LONGEST_STRETCH_S,
        )  # fmt: skip


def _require_new(word: VoiceWord, recording: Recording, found: Cut) -> None:
    near = (found.start_s - SAME_WITHIN_S, found.start_s + SAME_WITHIN_S)
    if word.samples.filter(recording=recording, start_s__range=near).exists():
        raise InvalidInput.of(
            "at_s", "This example of “{word}”, at {at_s:.1f} s, is there already; tap at another one.",
            word=word.text, at_s=found.start_s,
        )  # fmt: skip


def _remarks(word: VoiceWord, found: Cut) -> list[Sentence]:
    if word.role not in SPOKEN_ROLES or found.duration_s >= SHORTEST_S:
        return []
    told = "“{word}” lasts {duration_s:.2f} s here. Under {least_s} s a word is easily mistaken for another sound."
    return [sentence(told, word=word.text, duration_s=found.duration_s, least_s=SHORTEST_S)]


def event_kind_of(role: WordRole) -> EventKind | None:
    """Return what an event of a word is; None for what makes no event."""
    return EventKind(role.value) if role not in STRETCHES else None
