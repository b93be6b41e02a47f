"""What a person says of a recording's events: right, wrong, another word, another time, added, taken back."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Max

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, NotFound
from pupilage.core.recordings.events import EventKind, EventSource, EventState
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.auditing import audit
from pupilage.storage.models import Recording, RecordingEvent, RecordingJudgement
from pupilage.storage.queries.recordings import recording_writable_by

MOST_AT_ONCE = 2000


@dataclass(frozen=True)
class Judgement:
    """One person's word on one event.

    kind, label, behaviour, start_s: what it is instead, where it is not as suggested.
    outcome: of a cue, what the dog did; None where nobody said.
    """

    event_id: UUID
    state: EventState
    kind: EventKind | None = None
    label: str = ""
    behaviour: str = ""
    start_s: float | None = None
    outcome: Outcome | None = None
    judgement_id: UUID | None = None


@dataclass(frozen=True)
class AddedEvent:
    """An event that a person taps or types while the recording plays. event_id: chosen by the page."""

    start_s: float
    kind: EventKind
    label: str = ""
    behaviour: str = ""
    end_s: float | None = None
    outcome: Outcome | None = None
    event_id: UUID | None = None


def judge_events(actor: Actor, recording_id: UUID, judgements: Sequence[Judgement], *, now: datetime) -> int:
    """Write down judgements and return how many were new. One transaction; idempotent by judgement_id.

    Who may: whoever may write. Raises NotFound when an event is not one of this recording, InvalidInput for a time
    outside it: then nothing is written.
    """
    recording = recording_writable_by(actor, recording_id)
    if len(judgements) > MOST_AT_ONCE:
        raise InvalidInput.of("events", "{n} at once; send at most {most}.", n=len(judgements), most=MOST_AT_ONCE)
    for judgement in judgements:
        _require_time(recording, judgement.start_s)
    with transaction.atomic():
        known = set(recording.events.values_list("id", flat=True))
        if any(judgement.event_id not in known for judgement in judgements):
            raise NotFound("This was heard in another recording, or read anew since; load the page again.")
        written = set(recording.judgements.values_list("id", flat=True))
        new = [judgement for judgement in judgements if judgement.judgement_id not in written]
        seq = _last_seq(recording)
        RecordingJudgement.objects.bulk_create(
            _row(actor, recording, judgement, seq + 1 + i, now) for i, judgement in enumerate(new)
        )
        if new:
            audit(actor, "judge-recording", str(recording.id), now=now, events=len(new))
    return len(new)


def add_event(actor: Actor, recording_id: UUID, added: AddedEvent, *, now: datetime) -> UUID:
    """Write down what a person heard and the machine did not: confirmed at once. Idempotent by event_id."""
    recording = recording_writable_by(actor, recording_id)
    _require_time(recording, added.start_s)
    with transaction.atomic():
        event, made = RecordingEvent.objects.get_or_create(
            workspace_id=actor.workspace_id,
            recording=recording,
            id=added.event_id or uuid4(),
            defaults={
                "start_s": added.start_s,
                "end_s": max(added.start_s, added.end_s or added.start_s),
                "kind": added.kind,
                "label": added.label[:80],
                "behaviour": added.behaviour,
                "source": EventSource.HAND,
            },
        )
        if made:
            judgement = Judgement(event.id, EventState.CONFIRMED, outcome=added.outcome)
            _row(actor, recording, judgement, _last_seq(recording) + 1, now).save()
            audit(actor, "add-recording-event", str(recording.id), now=now)
    return event.id


def take_judgement_back(
    actor: Actor, recording_id: UUID, *, now: datetime, judgement_id: UUID | None = None
) -> UUID | None:
    """Take the newest judgement back, or the one that is named, and return its event; None when there is none left.

    Who may: whoever may write. With a judgement's id, idempotent.
    """
    recording = recording_writable_by(actor, recording_id)
    with transaction.atomic():
        standing = recording.judgements.filter(taken_back_at=None)
        if judgement_id is not None:
            standing = standing.filter(id=judgement_id)
        newest = standing.order_by("-seq").first()
        if newest is None:
            return None
        RecordingJudgement.objects.filter(id=newest.id).update(taken_back_at=now)
        audit(actor, "take-judgement-back", str(recording.id), now=now)
    return newest.event_id


def _last_seq(recording: Recording) -> int:
    return recording.judgements.aggregate(last=Max("seq"))["last"] or 0


def _row(actor: Actor, recording: Recording, judgement: Judgement, seq: int, now: datetime) -> RecordingJudgement:
    return RecordingJudgement(
        id=judgement.judgement_id or uuid4(),
        workspace_id=actor.workspace_id,
        recording=recording,
        event_id=judgement.event_id,
        state=judgement.state,
        kind=judgement.kind or "",
        label=judgement.label[:80],
        behaviour=judgement.behaviour,
        start_s=judgement.start_s,
        outcome=judgement.outcome or "",
        at=now,
        seq=seq,
        by=actor.user_id,
    )


def _require_time(recording: Recording, start_s: float | None) -> None:
    if start_s is None:
        return
    end_s = recording.duration_s
    if not start_s >= 0 or (end_s is not None and start_s > end_s):
        told = "{given} s lies outside the recording; its times go from 0 to {end} s."
        raise InvalidInput.of("start_s", told, given=start_s, end=round(end_s or 0, 1))
