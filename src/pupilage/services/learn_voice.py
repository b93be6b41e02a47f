"""Learning a voice, outside any request: from its examples, and from what a person confirmed and rejected.

As with a reading, whoever learns says every few seconds that it is alive; one that fell silent is replaced, and what
each example taught until then is kept. The sound of an example goes as soon as it was learned from, unless asked for.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

import numpy as np
from django.db import transaction
from django.db.models import Q, QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, PupilageError
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.reading import SPOKEN_ROLES, LearningState, WordRole
from pupilage.core.recordings.words.calibration import fit_calibration
from pupilage.core.recordings.words.lessons import SampleLesson, lesson_of, sample_lesson, talk_lesson
from pupilage.core.recordings.words.look_alikes import find_look_alikes
from pupilage.core.recordings.words.model import Corrections, learn
from pupilage.core.recordings.words.samples import Word
from pupilage.core.recordings.words.surroundings import Surroundings
from pupilage.services.auditing import audit
from pupilage.services.read_waiting import SILENT_AFTER, told_of, waiting_recordings
from pupilage.storage.erasing import empty_log, overwrite_deleted
from pupilage.storage.models import AuditEntry, Voice, VoiceSample, VoiceWord
from pupilage.storage.queries.judged import JudgedEvent, judged_events
from pupilage.storage.queries.recordings import recording_writable_by
from pupilage.storage.queries.voices import voice_writable_by
from pupilage.storage.reader_process import wake_reader
from pupilage.storage.recording_files import recording_file
from pupilage.storage.sound.cutting import from_pcm, sound_between
from pupilage.storage.sound.embedding import MODEL_SHA256, speech_embedding
from pupilage.storage.sound.word_pool import word_pool

TOLD_EVERY = timedelta(seconds=1)
LESSONS_SHARE, FITTED_SHARE = 0.6, 0.75
"""How much is done once each example taught, and once the words are told apart (measured roughly)."""
MOST_TALK_S = 60.0

Told = Callable[[float], None]


class _Unwanted(Exception):
    """The voice is gone, or another process has it."""


def ask_to_learn(actor: Actor, voice_id: UUID, *, now: datetime) -> None:
    """Let a voice wait until its words are learned. Idempotent. Who may: whoever may write.

    Raises InvalidInput while it has no example of any word.
    """
    voice = voice_writable_by(actor, voice_id)
    if not VoiceSample.objects.filter(word__voice=voice).exists():
        raise InvalidInput.of("words", "There is no example to learn from yet; give three of each word.")
    with transaction.atomic():
        _ask(voice.id, now)
        audit(actor, "learn-voice", str(voice.id), now=now)
        transaction.on_commit(wake_reader)


def learn_from_checked(actor: Actor, recording_id: UUID, *, now: datetime) -> int:
    """Let the voices of a recording learn from what was confirmed and rejected in it; return how many do.

    Who may: whoever may write. A voice that has nothing new to learn from it is left as it is.
    """
    recording = recording_writable_by(actor, recording_id)
    new = [
        voice
        for voice in recording.voices.exclude(model=None).defer("model")
        if recording.judgements.filter(event__voice=voice, at__gt=voice.made_at).exists()
    ]
    with transaction.atomic():
        for voice in new:
            _ask(voice.id, now)
        if new:
            audit(actor, "learn-from-checked", str(recording.id), now=now, voices=len(new))
            transaction.on_commit(wake_reader)
    return len(new)


def _ask(voice_id: UUID, now: datetime) -> None:
    rows = Voice.objects.filter(id=voice_id)
    rows.update(asked_at=now)
    rows.exclude(learning=LearningState.LEARNING).update(learning=LearningState.WAITING, progress=0, failure=None)


def unlearn(voice_id: UUID, *, now: datetime, anew: bool) -> None:
    """Let what was learned go where no example of a word is left; else, if `anew`, let the rest be learned anew.

    Inside the caller's transaction: the weights of a deleted word stand in the model until then.
    """
    learned = Voice.objects.filter(id=voice_id).exclude(model=None)
    if not VoiceSample.objects.filter(word__voice_id=voice_id, word__role__in=SPOKEN_ROLES).exists():
        learned.update(model=None, look_alikes=None)
    elif anew and learned.exists():
        _ask(voice_id, now)
        transaction.on_commit(wake_reader)


def waiting_voices(now: datetime) -> QuerySet[Voice]:
    """Return the voices that wait to be learned, or whose learner fell silent."""
    silent = Q(learning=LearningState.LEARNING) & (Q(alive_at__lt=now - SILENT_AFTER) | Q(alive_at=None))
    return Voice.objects.filter(Q(learning=LearningState.WAITING) | silent)


def wake_for_what_waits(now: datetime) -> None:
    """Start the reader where something waits, or was being done when the machine went down.

    Who may: the command line on the machine itself.
    """
    if does_something_wait(now):
        wake_reader()


def does_something_wait(now: datetime) -> bool:
    """Return whether a recording or a voice waits for a reader.

    Who may: the command line on the machine itself.
    """
    return waiting_recordings(now).exists() or waiting_voices(now).exists()


def learn_waiting(
    worker: str, clock: Callable[[], datetime], *, only: UUID | None = None, told: Told | None = None
) -> UUID | None:
    """Learn the voice that waits longest, or `only` that one, and return its id; None when none waits.

    Who may: the command line on the machine itself. What goes wrong stands with the voice as a sentence.
    """
    voice = _claim(worker, clock(), only)
    if voice is None:
        return None
    watch = _Watch(voice, worker, clock, told)
    overwrite_deleted()
    try:
        _learn(voice, watch)
    except _Unwanted:
        pass
    except (PupilageError, OSError, MemoryError) as error:
        _fail(watch, error)
    empty_log()
    return voice.id


def _claim(worker: str, now: datetime, only: UUID | None) -> Voice | None:
    free = waiting_voices(now) if only is None else waiting_voices(now).filter(id=only)
    for voice_id in list(free.order_by("asked_at").values_list("id", flat=True)):
        mine = free.filter(id=voice_id)
        if mine.update(learning=LearningState.LEARNING, worker=worker, alive_at=now, progress=0, failure=None):
            return Voice.objects.get(id=voice_id)
    return None


@dataclass
class _Watch:
    voice: Voice
    worker: str
    clock: Callable[[], datetime]
    shown: Told | None
    said_at: datetime | None = None

    def told(self, share: float) -> None:
        if self.shown is not None:
            self.shown(share)
        now = self.clock()
        if self.said_at is None or now - self.said_at >= TOLD_EVERY:
            self.said_at = now
            if not self.own().update(progress=share, alive_at=now):
                raise _Unwanted

    def own(self) -> QuerySet[Voice]:
        return Voice.objects.filter(id=self.voice.id, learning=LearningState.LEARNING, worker=self.worker)


def _learn(voice: Voice, watch: _Watch) -> None:
    asked_at = voice.asked_at
    rows = list(VoiceSample.objects.filter(word__voice=voice, word__retired_at=None).select_related("word"))
    _teach_each(rows, watch)
    words = [sample.word for sample in rows if sample.word.role in SPOKEN_ROLES]
    taught = {word.id: Word(str(word.id), EventKind(word.role), word.behaviour) for word in words}
    judged = judged_events(voice)
    model, look_alikes = None, None
    if taught:
        model, look_alikes = _fitted(rows, taught, judged, watch)
    _keep(watch, model, look_alikes, judged, asked_at)


def _teach_each(rows: Sequence[VoiceSample], watch: _Watch) -> None:
    """Make numbers of every example that has none yet; each is kept at once, and its sound let go."""
    waiting = [sample for sample in rows if not sample.numbers]
    if not waiting:
        return
    sounds = {sample.id: _sound(sample) for sample in rows}
    talk, background = (_joined(rows, sounds, role) for role in (WordRole.TALK, WordRole.BACKGROUND))
    for done, sample in enumerate(waiting):
        watch.told(LESSONS_SHARE * done / len(waiting))
        seed = sample.id.int % 2**32
        embed = speech_embedding().one_phase
        if sample.word.role in SPOKEN_ROLES:
            others = tuple(
                sounds[one.id] for one in rows
                if one.word.role in SPOKEN_ROLES and one.word_id != sample.word_id and len(sounds[one.id])
            )  # fmt: skip
            lesson = sample_lesson(sounds[sample.id], Surroundings(talk, background, others), embed=embed, seed=seed)
        else:
            own = sounds[sample.id]
            around = (
                Surroundings(own, background) if sample.word.role == WordRole.TALK else Surroundings(background=own)
            )
            lesson = talk_lesson(around, embed=embed, seed=seed)
        sample.numbers = lesson.to_bytes(MODEL_SHA256)
        kept = {} if watch.voice.keep_sound else {"sound": None}
        VoiceSample.objects.filter(id=sample.id).update(numbers=sample.numbers, **kept)


def _sound(sample: VoiceSample) -> np.ndarray:
    """Return the sound of an example: its own, else out of its recording, else none."""
    if sample.sound:
        return from_pcm(bytes(sample.sound))
    if sample.recording_id and sample.start_s is not None and recording_file(sample.recording_id).exists():
        return sound_between(recording_file(sample.recording_id), sample.start_s, sample.start_s + sample.duration_s)
    return np.zeros(0, np.float32)


def _joined(rows: Sequence[VoiceSample], sounds: dict[UUID, np.ndarray], role: WordRole) -> np.ndarray:
    pieces = [sounds[one.id] for one in rows if one.word.role == role]
    return np.concatenate([np.zeros(0, np.float32), *pieces])[: round(MOST_TALK_S * 16_000)]


def _fitted(
    rows: Sequence[VoiceSample], taught: dict[UUID, Word], judged: Sequence[JudgedEvent], watch: _Watch
) -> tuple[bytes, dict[str, object] | None]:
    lessons = {
        one.id: SampleLesson.from_bytes(bytes(one.numbers), MODEL_SHA256)
        for one in rows if one.word.role in (*SPOKEN_ROLES, WordRole.TALK, WordRole.BACKGROUND)
    }  # fmt: skip
    by_word = [(word, [lessons[one.id] for one in rows if one.word_id == word_id]) for word_id, word in taught.items()]
    talks = [lessons[one.id] for one in rows if one.id in lessons and one.word_id not in taught]
    if not talks:
        talks = [talk_lesson(Surroundings(), embed=speech_embedding().one_phase, seed=0)]
    lesson = lesson_of(by_word, talks)
    watch.told(LESSONS_SHARE)
    known = {(word.role, word.text.casefold()): taught[word.id] for word in _words(rows) if word.id in taught}
    corrections = Corrections.of(
        lesson.words, [(one.stack, _word_of(one, known)) for one in judged if one.teaches(known)]
    )
    model = learn(lesson, word_pool(), corrections)
    watch.told(FITTED_SHARE)
    found = None
    if any(len(samples) > 1 for _, samples in by_word):
        shares = find_look_alikes(lesson, word_pool())
        found = {
            "words": [word.label for word in shares.words],
            "shares": [[None if np.isnan(one) else round(float(one), 4) for one in row] for row in shares.shares],
        }
    return model.to_bytes(MODEL_SHA256), found


def _words(rows: Sequence[VoiceSample]) -> list[VoiceWord]:
    return list({sample.word_id: sample.word for sample in rows}.values())


def _word_of(one: JudgedEvent, known: dict[tuple[str, str], Word]) -> Word | None:
    return known[one.kind, one.label.casefold()] if one.is_right else None


def _keep(
    watch: _Watch,
    model: bytes | None,
    look_alikes: dict[str, object] | None,
    judged: Sequence[JudgedEvent],
    asked_at: datetime | None,
) -> None:
    heard = [one for one in judged if one.confidence is not None]
    fitted = fit_calibration([one.confidence or 0.0 for one in heard], [one.as_suggested for one in heard])
    calibration = {"n_right": sum(one.as_suggested for one in heard), "n": len(heard)}
    if fitted is not None:
        calibration |= {"confidences": fitted.confidences.tolist(), "chances": fitted.chances.tolist()}
    now = watch.clock()
    with transaction.atomic():
        again = Voice.objects.filter(id=watch.voice.id).exclude(asked_at=asked_at).exists()
        state = LearningState.WAITING if again else LearningState.IDLE
        if not watch.own().update(
            model=model, made_by=MODEL_SHA256, made_at=now, look_alikes=look_alikes, calibration=calibration,
            learning=state, progress=1, alive_at=now, failure=None,
        ):  # fmt: skip
            raise _Unwanted
        _audit(watch, "learned-voice", now)


def _fail(watch: _Watch, error: BaseException) -> None:
    now = watch.clock()
    with transaction.atomic():
        failure = told_of(error, watch.voice.name)
        if watch.own().update(learning=LearningState.FAILED, failure=failure, alive_at=now):
            _audit(watch, "fail-voice", now)


def _audit(watch: _Watch, action: str, now: datetime) -> None:
    AuditEntry.objects.create(
        workspace_id=watch.voice.workspace_id, action=action, subject=str(watch.voice.id), detail={}, at=now
    )
