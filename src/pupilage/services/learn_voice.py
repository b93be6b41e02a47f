"""Learning a voice, outside any request: from its examples, and from what a person confirmed and rejected.

What each example taught is kept at once, so that whoever takes over from a learner that died goes on from there. The
sound of an example goes as soon as it was learned from, unless asked for.
"""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

import numpy as np
from django.db import transaction
from django.db.models import Q, QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, PupilageError
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.reading import SPOKEN_ROLES, STRETCHES, LearningState, WordRole
from pupilage.core.recordings.words.calibration import fit_calibration
from pupilage.core.recordings.words.lessons import SampleLesson, lesson_of, sample_lesson, talk_lesson
from pupilage.core.recordings.words.look_alikes import find_look_alikes
from pupilage.core.recordings.words.model import Corrections, learn
from pupilage.core.recordings.words.samples import Word
from pupilage.core.recordings.words.surroundings import Surroundings
from pupilage.services.auditing import audit
from pupilage.services.long_work import VOICES, Clock, Job, Told, Unwanted
from pupilage.storage.erasing import empty_log, overwrite_deleted
from pupilage.storage.models import Voice, VoiceSample, VoiceWord
from pupilage.storage.queries.judged import JudgedEvent, judged_events
from pupilage.storage.queries.recordings import recording_writable_by
from pupilage.storage.queries.voices import voice_writable_by
from pupilage.storage.reader_process import wake_reader
from pupilage.storage.recording_files import recording_file
from pupilage.storage.sound.cutting import from_pcm, sound_between
from pupilage.storage.sound.embedding import MODEL_SHA256, speech_embedding
from pupilage.storage.sound.word_pool import word_pool

LESSONS_SHARE, FITTED_SHARE = 0.6, 0.75
"""How much is done once each example taught, and once the words are told apart (measured roughly)."""
MOST_TALK_S = 60.0
IN_MODEL = SPOKEN_ROLES | STRETCHES
"""What the model is learned from; clicks and whistles are heard without one."""


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


def is_learned_from(samples: QuerySet[VoiceSample]) -> bool:
    """Return whether a model has learned from any of the examples, or is just learning from it."""
    taught = samples.filter(word__role__in=IN_MODEL)
    return taught.filter(~Q(numbers=b"") | Q(word__voice__learning=LearningState.LEARNING)).exists()


def unlearn(voice_id: UUID, *, now: datetime) -> None:
    """Have a voice learned anew from the examples that are left, or let all that was learned go where none is.

    Inside the caller's transaction, after something that it was learned from is gone. Its model is stale from then on,
    and is replaced by the next one; whoever is learning it just now loses it, and keeps nothing.
    """
    voices = Voice.objects.filter(id=voice_id).exclude(model=None, learning=LearningState.IDLE)
    if VoiceSample.objects.filter(word__voice_id=voice_id, word__role__in=SPOKEN_ROLES).exists():
        if voices.update(asked_at=now, learning=LearningState.WAITING, progress=0, failure=None):
            transaction.on_commit(wake_reader)
    else:
        voices.update(model=None, look_alikes=None, learning=LearningState.IDLE, progress=0, failure=None)


def learn_waiting(worker: str, clock: Clock, *, only: UUID | None = None, told: Told | None = None) -> UUID | None:
    """Learn the voice that waits longest, or `only` that one, and return its id; None when none waits.

    Who may: the command line on the machine itself. What goes wrong stands with the voice as a sentence.
    """
    job = VOICES.take(worker, clock, only=only, shown=told)
    if job is None:
        return None
    overwrite_deleted()
    try:
        try:
            _learn(job)
        except (PupilageError, OSError, MemoryError) as error:
            with transaction.atomic():
                job.fail(error, job.row.name)
                job.audit("fail-voice")
    except Unwanted:
        pass
    empty_log()
    return job.row.id


def _learn(job: Job[Voice]) -> None:
    voice = job.row
    rows = list(VoiceSample.objects.filter(word__voice=voice, word__retired_at=None).select_related("word"))
    _teach_each(rows, job)
    words = [sample.word for sample in rows if sample.word.role in SPOKEN_ROLES]
    taught = {word.id: Word(str(word.id), EventKind(word.role), word.behaviour) for word in words}
    judged = judged_events(voice)
    model, look_alikes = None, None
    if taught:
        model, look_alikes = _fitted(rows, taught, judged, job)
    _keep(job, model, look_alikes, judged)


def _teach_each(rows: Sequence[VoiceSample], job: Job[Voice]) -> None:
    """Make numbers of every example that has none yet; each is kept at once, and its sound let go."""
    waiting = [sample for sample in rows if not sample.numbers]
    if not waiting:
        return
    sounds = {sample.id: _sound(sample) for sample in rows}
    talk, background = (_joined(rows, sounds, role) for role in (WordRole.TALK, WordRole.BACKGROUND))
    for done, sample in enumerate(waiting):
        job.told(LESSONS_SHARE * done / len(waiting))
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
        kept = {} if job.row.keep_sound else {"sound": None}
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
    rows: Sequence[VoiceSample], taught: dict[UUID, Word], judged: Sequence[JudgedEvent], job: Job[Voice]
) -> tuple[bytes, dict[str, object] | None]:
    lessons = {
        one.id: SampleLesson.from_bytes(bytes(one.numbers), MODEL_SHA256)
        for one in rows if one.word.role in IN_MODEL
    }  # fmt: skip
    by_word = [(word, [lessons[one.id] for one in rows if one.word_id == word_id]) for word_id, word in taught.items()]
    talks = [lessons[one.id] for one in rows if one.id in lessons and one.word_id not in taught]
    if not talks:
        talks = [talk_lesson(Surroundings(), embed=speech_embedding().one_phase, seed=0)]
    lesson = lesson_of(by_word, talks)
    known = {(word.role, word.text.casefold()): taught[word.id] for word in _words(rows) if word.id in taught}
    corrections = Corrections.of(
        lesson.words, [(one.stack, _word_of(one, known)) for one in judged if one.teaches(known)]
    )
    model = learn(lesson, word_pool(), corrections, told=job.part(LESSONS_SHARE, FITTED_SHARE))
    found = None
    if any(len(samples) > 1 for _, samples in by_word):
        shares = find_look_alikes(lesson, word_pool(), told=job.part(FITTED_SHARE, 1.0))
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
    job: Job[Voice], model: bytes | None, look_alikes: dict[str, object] | None, judged: Sequence[JudgedEvent]
) -> None:
    heard = [one for one in judged if one.confidence is not None]
    fitted = fit_calibration([one.confidence or 0.0 for one in heard], [one.as_suggested for one in heard])
    calibration = {"n_right": sum(one.as_suggested for one in heard), "n": len(heard)}
    if fitted is not None:
        calibration |= {"confidences": fitted.confidences.tolist(), "chances": fitted.chances.tolist()}
    now = job.clock()
    with transaction.atomic():
        again = Voice.objects.filter(id=job.row.id).exclude(asked_at=job.row.asked_at).exists()
        job.put(
            model=model, made_by=MODEL_SHA256, made_at=now, look_alikes=look_alikes, calibration=calibration,
            learning=LearningState.WAITING if again else LearningState.IDLE, progress=1, alive_at=now, failure=None,
        )  # fmt: skip
        job.audit("learned-voice")
