"""The voices of a workspace, and the page of one: its words, their examples, what sounds alike, how far it is."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from statistics import median
from uuid import UUID

import numpy as np
from django.db.models import Count, Q, QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.reading import SPOKEN_ROLES, STRETCHES, TAUGHT, LearningState, Purpose, WordRole
from pupilage.core.recordings.words.calibration import NEEDED_OF_EACH
from pupilage.core.recordings.words.heard_so_far import HeardSoFar, count_heard
from pupilage.core.recordings.words.look_alikes import LookAlikes
from pupilage.core.recordings.words.samples import N_SAMPLES, SHORTEST_S, Word
from pupilage.core.words import Sentence, sentence
from pupilage.services.bring_recording import is_captions
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Goal, Voice, VoiceSample, VoiceWord
from pupilage.storage.queries.judged import heard_and_said
from pupilage.storage.queries.programmes import programmes_readable_by
from pupilage.storage.queries.recordings import recordings_readable_by
from pupilage.storage.queries.voices import sample_readable_by, voice_readable_by, voices_readable_by
from pupilage.storage.recording_files import recording_file


@dataclass(frozen=True)
class VoiceLine:
    """One voice in the list. n_waiting: examples that nothing was learned from yet. failure: why learning failed."""

    id: UUID
    name: str
    keep_sound: bool
    retired: bool
    n_words: int
    n_samples: int
    n_waiting: int
    made_at: datetime | None
    learning: LearningState
    progress: float
    failure: Sentence | None

    @property
    def is_learning(self) -> bool:
        return self.learning in {LearningState.WAITING, LearningState.LEARNING}


@dataclass(frozen=True)
class SampleLine:
    """One example. recording_id: where it was cut, None for a sound of its own; can_play: its sound is still here."""

    id: UUID
    start_s: float | None
    duration_s: float
    recording_id: UUID | None
    can_play: bool


@dataclass(frozen=True)
class WordLine:
    """One word with its examples. behaviour: key of the catalogue; asks_for: its name."""

    id: UUID
    text: str
    role: WordRole
    behaviour: str
    asks_for: str
    samples: tuple[SampleLine, ...]

    @property
    def is_stretch(self) -> bool:
        return self.role in STRETCHES

    @property
    def n_missing(self) -> int:
        return 0 if self.is_stretch else max(N_SAMPLES - len(self.samples), 0)


@dataclass(frozen=True)
class Alike:
    """Two words that are taken for each other, with an example of each to play, where the sound is here."""

    says: Sentence
    plays: tuple[tuple[str, UUID], ...]


@dataclass(frozen=True)
class SoFar:
    """How rightly one word was heard so far: of its suggestions, and of the times that it was said."""

    text: str
    says: tuple[Sentence, ...]


@dataclass(frozen=True)
class RecordingChoice:
    """A recording whose sound is here, to teach from."""

    id: UUID
    file_name: str
    dog: str


@dataclass(frozen=True)
class VoicePage:
    """One voice. confidence: what the confidences of its events are; goals, others: what a cue may ask for."""

    line: VoiceLine
    words: tuple[WordLine, ...]
    remarks: tuple[Sentence, ...]
    alike: tuple[Alike, ...]
    confidence: Sentence
    so_far: tuple[SoFar, ...]
    recordings: tuple[RecordingChoice, ...]
    goals: tuple[tuple[str, str], ...]
    others: tuple[tuple[str, str], ...]
    roles: tuple[WordRole, ...] = tuple(role for role in TAUGHT if role not in STRETCHES)


def read_voices(actor: Actor) -> list[VoiceLine]:
    """Return the voices by name, those put aside last. Who may: whoever may read."""
    lines = [_line(row) for row in _counted(voices_readable_by(actor))]
    return sorted(lines, key=lambda line: line.retired)


def read_voice_line(actor: Actor, voice_id: UUID) -> VoiceLine:
    """Return how far one voice is. Who may: whoever may read. Raises NotFound."""
    voice_readable_by(actor, voice_id)
    return _line(_counted(voices_readable_by(actor).filter(id=voice_id)).get())


def read_voice(actor: Actor, voice_id: UUID) -> VoicePage:
    """Return the page of one voice. Who may: whoever may read. Raises NotFound."""
    voice = voice_readable_by(actor, voice_id)
    words = _words(voice)
    goals, others = cued_behaviours(actor)
    return VoicePage(
        line=read_voice_line(actor, voice_id),
        words=words,
        remarks=tuple(_remarks(words)),
        alike=tuple(_alike(voice, words)),
        confidence=confidence_told(voice),
        so_far=tuple(_so_far(voice, words)),
        recordings=tuple(teachable(actor)),
        goals=goals,
        others=others,
    )


def teachable(actor: Actor) -> list[RecordingChoice]:
    """Return the recordings of sessions whose sound is here, the newest first."""
    rows = recordings_readable_by(actor).filter(has_file=True, purpose=Purpose.SESSION)
    return [
        RecordingChoice(row.id, row.file_name, row.dog.name) for row in rows
        if row.n_bytes == row.size_bytes and not is_captions(row.file_name)
    ]  # fmt: skip


def cued_behaviours(actor: Actor) -> tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]]:
    """Return (key, name) of what a cue may ask for: the goals of any stay that may be read, then the rest."""
    stays = programmes_readable_by(actor).values("id")
    wanted = set(Goal.objects.filter(programme__in=stays, dropped_at=None).values_list("behaviour", flat=True))
    named = [(key, one.name) for key, one in load_catalogue().behaviours.items()]
    return tuple(one for one in named if one[0] in wanted), tuple(one for one in named if one[0] not in wanted)


def find_sample_sound(actor: Actor, sample_id: UUID) -> bytes:
    """Return an example as a WAV file. Who may: whoever may read. Raises NotFound where its sound is not kept."""
    from pupilage.storage.sound.cutting import as_wav, from_pcm, sound_between

    sample = sample_readable_by(actor, sample_id)
    if sample.sound:
        return as_wav(from_pcm(bytes(sample.sound)))
    if not _can_play(sample) or sample.recording_id is None or sample.start_s is None:
        raise NotFound("The sound of this example is not kept; only numbers of it are.")
    file = recording_file(sample.recording_id)
    return as_wav(sound_between(file, sample.start_s, sample.start_s + sample.duration_s))


def _counted(rows: QuerySet[Voice]) -> QuerySet[Voice]:
    n_samples = Count("words__samples", distinct=True)
    return rows.annotate(
        n_words=Count("words", filter=Q(words__role__in=[r for r in TAUGHT if r not in STRETCHES]), distinct=True),
        n_samples=n_samples,
        n_waiting=Count("words__samples", filter=Q(words__samples__numbers=b""), distinct=True),
    )


def _line(row: Voice) -> VoiceLine:
    return VoiceLine(
        id=row.id,
        name=row.name,
        keep_sound=row.keep_sound,
        retired=row.retired_at is not None,
        n_words=row.n_words,  # type: ignore[attr-defined]  # annotated above
        n_samples=row.n_samples,  # type: ignore[attr-defined]
        n_waiting=row.n_waiting,  # type: ignore[attr-defined]
        made_at=row.made_at,
        learning=LearningState(row.learning),
        progress=row.progress,
        failure=Sentence(row.failure[0], row.failure[1]) if row.failure else None,
    )


def _words(voice: Voice) -> tuple[WordLine, ...]:
    rows = VoiceWord.objects.filter(voice=voice, retired_at=None).prefetch_related("samples__recording")
    order = {role: place for place, role in enumerate(TAUGHT)}
    ranked = sorted(rows, key=lambda row: (order.get(WordRole(row.role), 99), row.text.casefold()))
    return tuple(_word(row) for row in ranked)


def _word(row: VoiceWord) -> WordLine:
    behaviour = load_catalogue().find_behaviour(row.behaviour) if row.behaviour else None
    samples = sorted(row.samples.all(), key=lambda one: (one.heard_at, one.start_s or 0.0))
    return WordLine(
        row.id,
        row.text,
        WordRole(row.role),
        row.behaviour,
        behaviour.name if behaviour else "",
        tuple(SampleLine(s.id, s.start_s, s.duration_s, s.recording_id, _can_play(s)) for s in samples),
    )


def _can_play(sample: VoiceSample) -> bool:
    if sample.sound:
        return True
    recording = sample.recording
    return recording is not None and recording.has_file and sample.start_s is not None


def _remarks(words: Sequence[WordLine]) -> list[Sentence]:
    told = []
    few = [f"{word.text} {len(word.samples)}" for word in words if word.n_missing]
    if few:
        template = "With fewer than {needed} examples a word is missed more often; so far: {few}."
        told.append(sentence(template, needed=N_SAMPLES, few=", ".join(few)))
    for word in words:
        durations = [one.duration_s for one in word.samples]
        if word.role in SPOKEN_ROLES and durations and median(durations) < SHORTEST_S:
            template = (
                "“{word}” lasts {duration_s:.2f} s. Under {least_s} s a word is easily mistaken for another sound; a "
                "longer word is found more surely."
            )
            told.append(sentence(template, word=word.text, duration_s=median(durations), least_s=SHORTEST_S))
    return told


def _alike(voice: Voice, words: Sequence[WordLine]) -> list[Alike]:
    """Return what was found when the words were learned, in their present letters; words gone since are left out."""
    kept, known = voice.look_alikes or {}, {str(word.id): word for word in words}
    places = [i for i, word_id in enumerate(kept.get("words", ())) if word_id in known]
    if not places:
        return []
    columns = [0, *(1 + i for i in places)]
    shares = np.array([[np.nan if one is None else one for one in row] for row in kept["shares"]], float)
    shown = [known[kept["words"][i]] for i in places]
    labels = tuple(Word(word.text, EventKind(word.role), word.behaviour) for word in shown)
    found = LookAlikes(labels, shares[np.ix_(places, columns)])
    by_label = dict(zip(labels, shown, strict=True))
    pairs = found.pairs()
    told = [
        Alike(says, _plays(by_label[a], by_label[b])) for says, (a, b, _) in zip(found.remarks(), pairs, strict=False)
    ]
    return told + [Alike(says, ()) for says in found.remarks()[len(pairs) :]]


def _so_far(voice: Voice, words: Sequence[WordLine]) -> list[SoFar]:
    """Return how rightly each word was heard so far, without those of which nothing was looked at."""
    named = {(word.role.value, word.text.casefold()): word.text for word in words if not word.is_stretch}
    found = count_heard(list(named), heard_and_said(voice))
    return [
        SoFar(named[one.word], tuple(_so_far_told(one))) for one in found if one.n_right + one.n_wrong + one.n_missed
    ]


def _so_far_told(one: HeardSoFar) -> Iterator[Sentence]:
    for share, n, (told, few) in (
        (one.right, one.n_right + one.n_wrong, OF_SUGGESTED),
        (one.found, one.n_right + one.n_missed, OF_SAID),
    ):
        if n and share is None:
            yield sentence(few, n_met=one.n_right, n=n)
        elif share is not None:
            yield sentence(told, n_met=share.n_met, n=n, p=share.p_met, low=share.low, high=share.high)


OF_SUGGESTED = (
    "Right: {n_met} of the {n} suggestions that you looked at ({p:.0%}; 95 % limits {low:.0%} to {high:.0%}).",
    "Right: {n_met} of the {n} suggestions that you looked at; not enough yet for a share.",
)
OF_SAID = (
    "Heard: {n_met} of the {n} times that it was said, as far as you checked ({p:.0%}; 95 % limits {low:.0%} to "
    "{high:.0%}).",
    "Heard: {n_met} of the {n} times that it was said, as far as you checked; not enough yet for a share.",
)


def _plays(*words: WordLine) -> tuple[tuple[str, UUID], ...]:
    first = [(word.text, next((one.id for one in word.samples if one.can_play), None)) for word in words]
    return tuple((text, sample_id) for text, sample_id in first if sample_id is not None)


def confidence_told(voice: Voice) -> Sentence:
    """Return what the confidences of a voice's events are: the model's own, or chances."""
    kept = voice.calibration or {}
    n, n_right = kept.get("n", 0), kept.get("n_right", 0)
    if "chances" in kept:
        told = (
            "The confidence shown is a chance: of {n} of its suggestions that you saw {right} were right, and the "
            "model's own confidence was put right by them (isotonic regression)."
        )
        return sentence(told, n=n, right=n_right)
    told = (
        "The confidence shown is the model's own. It becomes a chance once you have looked at {needed} right ones and "
        "{needed} wrong ones; so far {right} were right and {wrong} wrong."
    )
    return sentence(told, needed=NEEDED_OF_EACH, right=n_right, wrong=n - n_right)
