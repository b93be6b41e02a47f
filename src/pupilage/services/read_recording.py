"""The page of one recording: what was heard, what is left to check, what it amounts to, where its tries went."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from uuid import UUID

from pupilage.core.access import Actor, Role
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.recordings.checking import Checking, checking_of
from pupilage.core.recordings.events import Event, EventKind
from pupilage.core.recordings.figures import TrialFigures, figures_of
from pupilage.core.recordings.handling import Handling, handling_of
from pupilage.core.recordings.merging import Merge
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.core.recordings.trials import HeardTrial, fold_trials
from pupilage.core.words import Sentence
from pupilage.services.count_recording import live_sessions_beside, merge_session, session_id_of
from pupilage.services.listen_to_recording import vocabulary_of
from pupilage.services.read_recordings import RecordingLine, read_recording_line
from pupilage.services.read_voices import confidence_told
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Recording, SessionEvent, TrainingSession, VoiceWord
from pupilage.storage.models import Trial as TrialRow
from pupilage.storage.queries.recordings import list_recording_events, outcome_id, recording_readable_by
from pupilage.storage.queries.voices import voices_readable_by
from pupilage.storage.trial_rules import rules_of_catalogue


@dataclass(frozen=True)
class Word:
    """A word that an event may be instead: its kind, how it is said, and the behaviour that it asks for."""

    kind: EventKind
    label: str
    behaviour: str


@dataclass(frozen=True)
class StepChoice:
    """A behaviour whose tries were heard: the step that was asked for as far as is known, and those to choose from."""

    behaviour: Behaviour
    step: str


@dataclass(frozen=True)
class Beside:
    """A session that was tapped while it was recorded, and how far the two agree."""

    session_id: UUID
    behaviour: str
    merge: Merge


@dataclass(frozen=True)
class VoiceChoice:
    """A voice that may be in a recording."""

    id: UUID
    name: str
    is_chosen: bool


@dataclass(frozen=True)
class RecordingPage:
    """One recording. answers: what the pup did, by the id of the cue; handling is None for everybody but the keeper.

    sessions: where its tries have gone, with the name of the behaviour.
    """

    line: RecordingLine
    dog: str
    events: tuple[Event, ...]
    answers: Mapping[str, str]
    checking: Checking
    trials: tuple[HeardTrial, ...]
    figures: TrialFigures
    handling: Handling | None
    quality: tuple[Sentence, ...]
    onsets_s: tuple[float, ...]
    words: tuple[Word, ...]
    steps: tuple[StepChoice, ...]
    sessions: Mapping[UUID, str]
    beside: tuple[Beside, ...]
    voices: tuple[VoiceChoice, ...]
    confidence: tuple[Sentence, ...]


@dataclass(frozen=True)
class HeardRecording:
    """What a file or a program is given of a recording."""

    file_name: str
    events: tuple[Event, ...]
    trials: tuple[HeardTrial, ...]
    figures: TrialFigures
    quality: Mapping[str, Any]
    duration_s: float


def read_recording(actor: Actor, recording_id: UUID) -> RecordingPage:
    """Return the page. Who may: whoever may read; what the words say of the trainer, only the keeper."""
    recording = recording_readable_by(actor, recording_id)
    rules = rules_of_catalogue()
    events = tuple(list_recording_events(recording))
    trials = fold_trials(events, rules)
    return RecordingPage(
        line=read_recording_line(actor, recording_id),
        dog=recording.dog.name,
        events=events,
        answers=_answers(events),
        checking=checking_of(events, rules),
        trials=trials,
        figures=_figures(events, rules),
        handling=_handling(actor, recording, events, rules),
        quality=_quality(recording),
        onsets_s=tuple((recording.result or {}).get("onsets_s", ())),
        words=_words(recording, events),
        steps=_steps(recording, trials),
        sessions=_sessions(recording),
        beside=_beside(actor, recording, trials),
        voices=_voices(actor, recording),
        confidence=tuple(confidence_told(voice) for voice in recording.voices.all()),
    )


def hear_recording(actor: Actor, recording_id: UUID) -> HeardRecording:
    """Return what was heard in a recording, as judged. Who may: whoever may read. Raises NotFound."""
    recording = recording_readable_by(actor, recording_id)
    rules = rules_of_catalogue()
    events = tuple(list_recording_events(recording))
    return HeardRecording(
        recording.file_name,
        events,
        fold_trials(events, rules),
        _figures(events, rules),
        recording.quality or {},
        recording.duration_s or 0.0,
    )


def _answers(events: Sequence[Event]) -> dict[str, str]:
    told = {event.id: event.label for event in events if event.kind is EventKind.OUTCOME}
    cues = [event.id for event in events if event.kind is EventKind.CUE]
    return {cue: told[answer] for cue in cues if (answer := str(outcome_id(UUID(cue)))) in told}


@lru_cache(maxsize=16)
def _figures(events: tuple[Event, ...], rules: TrialRules) -> TrialFigures:
    """Return the figures; they take as many foldings as events are unchecked, so the same ones are kept."""
    return figures_of(events, rules)


def _handling(actor: Actor, recording: Recording, events: Sequence[Event], rules: TrialRules) -> Handling | None:
    if actor.role is not Role.KEEPER or not recording.duration_s:
        return None
    return handling_of(events, duration_s=recording.duration_s, rules=rules)


def _quality(recording: Recording) -> tuple[Sentence, ...]:
    """Return what a person should know of the sound: sentences that the reading kept as [template, figures]."""
    known = recording.quality or {}
    return tuple(Sentence(said, figures) for said, figures in (*known.get("reasons", ()), *known.get("remarks", ())))


def _voices(actor: Actor, recording: Recording) -> tuple[VoiceChoice, ...]:
    chosen = {voice.id for voice in recording.voices.all()}
    rows = [row for row in voices_readable_by(actor) if row.retired_at is None or row.id in chosen]
    return tuple(VoiceChoice(row.id, row.name, row.id in chosen) for row in rows)


def _words(recording: Recording, events: Sequence[Event]) -> tuple[Word, ...]:
    """Return the words to choose from: the voice's or else the catalogue's, those heard, what no word stands for."""
    spoken = [Word(event.kind, event.label, event.behaviour) for event in events if event.kind in _SPOKEN]
    rows = VoiceWord.objects.filter(voice__in=recording.voices.all(), retired_at=None).order_by("role", "text")
    kinds = {kind.value for kind in _SPOKEN}
    taught = [Word(EventKind(row.role), row.text, row.behaviour) for row in rows if row.role in kinds]
    taught = taught or [Word(one.kind, one.text, one.behaviour) for one in vocabulary_of(recording)]
    plain = [Word(EventKind.REWARD, "", ""), Word(EventKind.BREAK, "", "")]
    found = dict.fromkeys([*taught, *sorted(spoken, key=lambda word: (_SPOKEN.index(word.kind), word.label)), *plain])
    return tuple(found)


_SPOKEN = (
    EventKind.CUE, EventKind.MARKER, EventKind.CLICK, EventKind.WHISTLE, EventKind.RELEASE, EventKind.PRAISE,
    EventKind.NAME, EventKind.REWARD, EventKind.IGNORE,
)  # fmt: skip


def _steps(recording: Recording, trials: Sequence[HeardTrial]) -> tuple[StepChoice, ...]:
    keys = dict.fromkeys(trial.behaviour for trial in trials)
    behaviours = [behaviour for key in keys if (behaviour := load_catalogue().find_behaviour(key)) is not None]
    return tuple(StepChoice(behaviour, _step_then(recording, behaviour)) for behaviour in behaviours)


def _step_then(recording: Recording, behaviour: Behaviour) -> str:
    """Return the step that its session has, else the one practised last before it, else the first."""
    own = TrainingSession.objects.filter(id=session_id_of(recording.id, behaviour.key)).first()
    if own is not None:
        return own.step
    rows = TrialRow.objects.filter(programme__dog_id=recording.dog_id, behaviour=behaviour.key)
    if recording.began_at is not None:
        rows = rows.filter(at__lte=recording.began_at)
    step = rows.order_by("-at").values_list("step", flat=True).first()
    return step if step and behaviour.step(step) else behaviour.steps[0].key


def _sessions(recording: Recording) -> dict[UUID, str]:
    wrote = SessionEvent.objects.filter(workspace_id=recording.workspace_id, device_id=recording.id)
    rows = TrainingSession.objects.filter(id__in=wrote.values("session_id")).order_by("started_at", "id")
    return {row.id: _name(row.behaviour) for row in rows}


def _beside(actor: Actor, recording: Recording, trials: Sequence[HeardTrial]) -> tuple[Beside, ...]:
    if recording.programme is None:
        return ()
    found = []
    for key in dict.fromkeys(trial.behaviour for trial in trials if trial.behaviour):
        heard = [trial for trial in trials if trial.behaviour == key and not trial.n_unchecked]
        for session in live_sessions_beside(recording, recording.programme, key):
            merge = merge_session(actor, recording, session, heard)
            found += [Beside(session.id, _name(key), merge)] if merge is not None else []
    return tuple(found)


def _name(key: str) -> str:
    behaviour = load_catalogue().find_behaviour(key)
    return behaviour.name if behaviour else key
