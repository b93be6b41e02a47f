"""Reading back the events of a recording that somebody has corrected in a file."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.recordings.event_reading import read_vtt
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.training.record.evidence import Outcome
from pupilage.core.words import Sentence
from pupilage.services.judge_recording import AddedEvent, Judgement, add_event, judge_events
from pupilage.storage.queries.recordings import list_recording_events, outcome_id, recording_writable_by

SAME_S = 0.0011
"""A WebVTT file tells milliseconds."""


@dataclass(frozen=True)
class Corrections:
    """What a file changed: n_judged events said otherwise, n_added new ones."""

    n_judged: int
    n_added: int
    warnings: tuple[Sentence, ...] = ()


def correct_recording(actor: Actor, recording_id: UUID, content: bytes, *, now: datetime) -> Corrections:
    """Take over a WebVTT file of events: each is matched by its id; one without a known id is added.

    One transaction. What the file leaves out stays as it is. Idempotent. Who may: whoever may write.
    Raises InvalidInput for a file that is no WebVTT.
    """
    recording = recording_writable_by(actor, recording_id)
    file = read_vtt(content)
    known = {event.id: event for event in list_recording_events(recording)}
    answers = {str(outcome_id(UUID(e.id))): e for e in known.values() if e.kind is EventKind.CUE}
    told = {answers[e.id].id: e for e in file.events if e.id in answers}
    judgements, added = [], []
    for event in file.events:
        if event.id in answers or event.kind is EventKind.OUTCOME:
            continue
        before = known.get(event.id)
        if before is None:
            added.append(AddedEvent(event.start_s, event.kind, event.label, event.behaviour, event.end_s))
        elif not _is_same(before, event) or _outcome(told.get(event.id)) != _outcome(known.get(_answer(before))):
            judgements.append(_judgement(event, told.get(event.id)))
    new = [one for one in added if not _is_there(one, known.values())]
    with transaction.atomic():
        n_judged = judge_events(actor, recording_id, judgements, now=now) if judgements else 0
        for one in new:
            add_event(actor, recording_id, one, now=now)
    return Corrections(n_judged, len(new), file.warnings)


def _answer(event: Event) -> str:
    return str(outcome_id(UUID(event.id))) if event.kind is EventKind.CUE else ""


def _outcome(event: Event | None) -> Outcome | None:
    return Outcome(event.label) if event is not None and event.label in set(Outcome) else None


def _judgement(event: Event, answer: Event | None) -> Judgement:
    state = EventState.CONFIRMED if event.state is EventState.SUGGESTED else event.state
    return Judgement(UUID(event.id), state, event.kind, event.label, event.behaviour, event.start_s, _outcome(answer))


def _is_same(one: Event, other: Event) -> bool:
    told = [(e.kind, e.label, e.behaviour, e.state) for e in (one, other)]
    return told[0] == told[1] and abs(one.start_s - other.start_s) <= SAME_S


def _is_there(added: AddedEvent, events: Iterable[Event]) -> bool:
    return any(
        event.kind is added.kind
        and event.label == added.label
        and event.state is EventState.CONFIRMED
        and abs(event.start_s - added.start_s) <= SAME_S
        for event in events
    )
