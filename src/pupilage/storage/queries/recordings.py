"""Recordings, scoped by who asks, and their rows as core's types."""

from collections.abc import Iterable
from dataclasses import replace
from uuid import UUID, uuid5

import numpy as np
from django.db.models import Prefetch, QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import NotFound
from pupilage.core.recordings.events import Event, EventKind, EventSource, EventState
from pupilage.core.recordings.reading import SPOKEN_ROLES, WordRole
from pupilage.core.recordings.words.calibration import Calibration
from pupilage.storage.models import Recording, RecordingEvent, RecordingJudgement, Voice, VoiceWord

JUST_AFTER_S = 0.001


_VOICES = Prefetch("voices", Voice.objects.defer("model").order_by("name"))


def recordings_readable_by(actor: Actor) -> QuerySet[Recording]:
    """Return the recordings of the actor's workspace, the newest first."""
    rows = Recording.objects.filter(workspace_id=actor.workspace_id)
    return rows.select_related("dog").prefetch_related(_VOICES).order_by("-added_at", "id")


def recording_readable_by(actor: Actor, recording_id: UUID) -> Recording:
    """Return one recording. Raises NotFound for an unknown one and for another workspace's."""
    recording = recordings_readable_by(actor).filter(id=recording_id).first()
    if recording is None:
        raise NotFound("There is no such recording here; choose one from the list.")
    return recording


def recording_writable_by(actor: Actor, recording_id: UUID) -> Recording:
    """Return one recording to change. Raises Forbidden for a reader, NotFound as above."""
    actor.require_write()
    return recording_readable_by(actor, recording_id)


def list_recording_events(recording: Recording) -> list[Event]:
    """Return what was heard, each as the newest judgement of it says, in time order. Four queries.

    A cue that asked for nothing when it was heard asks for what its voice's word asks for now.
    """
    newest = newest_judgements(recording)
    rows = recording.events.order_by("start_s", "end_s", "id").defer("embedding")
    calibrations, asked = calibrations_in(recording), _asked_for(recording)
    found = (event for row in rows for event in events_of_row(row, newest.get(row.id), calibrations.get(row.voice_id)))
    return [
        replace(event, behaviour=asked.get(event.label.casefold(), ""))
        if event.kind is EventKind.CUE and not event.behaviour
        else event
        for event in found
    ]


def _asked_for(recording: Recording) -> dict[str, str]:
    """Return what the cues of the chosen voices ask for, by their words."""
    words = VoiceWord.objects.filter(voice__in=recording.voices.all(), role=WordRole.CUE, retired_at=None)
    return {text.casefold(): key for text, key in words.exclude(behaviour="").values_list("text", "behaviour")}


def events_of_row(
    row: RecordingEvent, judged: RecordingJudgement | None, calibration: Calibration | None = None
) -> Iterable[Event]:
    """Return a row as core's events: itself, and just after a cue what a person said that the dog did."""
    event = event_of(row, judged, calibration)
    yield event
    if judged is not None and judged.outcome and event.kind is EventKind.CUE and judged.state == EventState.CONFIRMED:
        at_s = event.start_s + JUST_AFTER_S
        yield Event(
            at_s,
            at_s,
            EventKind.OUTCOME,
            judged.outcome,
            state=EventState.CONFIRMED,
            source=EventSource.HAND,
            exact=event.exact,
            id=str(outcome_id(row.id)),
        )


def outcome_id(event_id: UUID) -> UUID:
    """Return the id by which the outcome of a cue goes out and comes back in a file."""
    return uuid5(event_id, "outcome")


def newest_judgements(recording: Recording) -> dict[UUID, RecordingJudgement]:
    """Return the judgement that counts, by event."""
    rows: Iterable[RecordingJudgement] = recording.judgements.filter(taken_back_at=None).order_by("seq")
    return {row.event_id: row for row in rows}


def event_of(row: RecordingEvent, judged: RecordingJudgement | None, calibration: Calibration | None = None) -> Event:
    """Return a row as core's type, as the judgement says where there is one, its confidence a chance if it can be."""
    start_s, kind, label, behaviour = row.start_s, row.kind, row.label, row.behaviour
    state = EventState.SUGGESTED
    if judged is not None:
        state = EventState(judged.state)
        start_s = row.start_s if judged.start_s is None else judged.start_s
        kind, label, behaviour = judged.kind or kind, judged.label or label, judged.behaviour or behaviour
    return Event(
        start_s=start_s,
        end_s=max(row.end_s, start_s),
        kind=EventKind(kind),
        label=label,
        confidence=_shown_confidence(row, calibration),
        state=state,
        source=EventSource(row.source),
        in_talk=row.in_talk,
        exact=row.exact,
        behaviour=behaviour,
        speaker=row.speaker,
        id=str(row.id),
    )


def _shown_confidence(row: RecordingEvent, calibration: Calibration | None) -> float | None:
    if row.confidence is None or calibration is None or row.kind not in _SPOKEN:
        return row.confidence
    return calibration.chance(row.confidence)


_SPOKEN = frozenset(role.value for role in SPOKEN_ROLES)


def calibrations_in(recording: Recording) -> dict[UUID | None, Calibration]:
    """Return what makes chances of confidences, by the voice whose words were heard in a recording."""
    heard_by = recording.events.exclude(voice=None).values("voice")
    voices = Voice.objects.filter(id__in=heard_by).only("calibration")
    found = {voice.id: calibration_of(voice) for voice in voices}
    return {voice_id: one for voice_id, one in found.items() if one is not None}


def calibration_of(voice: Voice) -> Calibration | None:
    """Return what makes chances of a voice's confidences; None while too few were looked at."""
    kept = voice.calibration or {}
    if "chances" not in kept:
        return None
    return Calibration(np.array(kept["confidences"], float), np.array(kept["chances"], float))
