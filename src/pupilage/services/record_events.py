"""Writing a device's events into the log, and folding the sessions they touch."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.clock import require_aware
from pupilage.core.errors import Conflict, InvalidInput, PupilageError
from pupilage.core.training.criterion.judging import require_payload
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import TrialSource
from pupilage.core.training.record.fold import SessionRecord, fold_session, in_order
from pupilage.core.words import Sentence
from pupilage.services.auditing import audit
from pupilage.services.keep_day_plan import touch_plans_of_sessions
from pupilage.services.open_practice import open_practice
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Device, Programme, SessionEvent, TrainingSession
from pupilage.storage.models import Trial as TrialRow
from pupilage.storage.queries.dogs import dogs_readable_by
from pupilage.storage.queries.programmes import programme_readable_by
from pupilage.storage.queries.sessions import list_events

BOUNDS = (EventKind.SESSION_STARTED, EventKind.SESSION_ENDED)
"""What of a session the day's timetable follows."""

MAX_EVENTS_A_CALL = 200


class Status(StrEnum):
    """What became of one event."""

    STORED = "stored"
    DUPLICATE = "duplicate"
    REJECTED = "rejected"


@dataclass(frozen=True)
class Verdict:
    """What became of one event; a rejected one has a code and a sentence."""

    event_id: str
    status: Status
    code: str = ""
    reason: Sentence | None = None


def record_events(
    actor: Actor,
    events: Sequence[Event],
    *,
    now: datetime,
    source: TrialSource = TrialSource.TAPPED,
) -> list[Verdict]:
    """Write events into the log and fold their sessions again. One transaction.

    Who may: whoever may write in the workspace. Idempotent: the same event twice is stored once; any order and
    any split of a batch give the same record. Each event is judged by itself.
    """
    actor.require_write()
    if len(events) > MAX_EVENTS_A_CALL:
        raise InvalidInput.of(
            "events", "{n} events in one call; send at most {most}.", n=len(events), most=MAX_EVENTS_A_CALL
        )
    with transaction.atomic():
        known = _known_ids(actor, events)
        verdicts, stored = [], []
        for event in events:
            verdict = _judge(actor, event, known, now)
            verdicts.append(verdict)
            if verdict.status is Status.STORED:
                known.add(event.id)
                stored.append(event)
        _write(actor, stored, now)
        for session_id in dict.fromkeys(event.session_id for event in stored):
            fold_again(actor, UUID(session_id), source)
        bounds = {UUID(event.session_id) for event in stored if event.kind in BOUNDS}
        if bounds:
            touch_plans_of_sessions(actor, bounds, now=now)
        if stored:
            audit(actor, "record-events", stored[0].session_id, now=now, events=len(stored))
    return verdicts


def _known_ids(actor: Actor, events: Sequence[Event]) -> set[str]:
    rows = SessionEvent.objects.filter(workspace_id=actor.workspace_id, event_id__in=[event.id for event in events])
    return {str(event_id) for event_id in rows.values_list("event_id", flat=True)}


def _judge(actor: Actor, event: Event, known: set[str], now: datetime) -> Verdict:
    if event.id in known:
        return Verdict(event.id, Status.DUPLICATE)
    try:
        require_aware(event.at)
        require_payload(event.kind, event.payload)
        if event.kind is EventKind.SESSION_STARTED:
            _require_start(actor, event, now)
        elif event.kind is EventKind.STEP_CHANGED:
            _require_step_change(actor, event)
    except PupilageError as error:
        return Verdict(event.id, Status.REJECTED, error.code, error.sentence)
    return Verdict(event.id, Status.STORED)


def _require_start(actor: Actor, event: Event, now: datetime) -> None:
    """Refuse a start that cannot be; a resident dog's practice that a phone named before it was written is opened."""
    programme_id = UUID(event.payload["programme"])
    require_step(str(event.payload["behaviour"]), str(event.payload["step"]))
    if TrainingSession.objects.filter(id=event.session_id).exists():
        raise Conflict("This session has started already; its first start stands.")
    resident = dogs_readable_by(actor).filter(id=programme_id, is_resident=True).first()
    if resident is not None:
        open_practice(actor, resident, now=now)
    programme_readable_by(actor, programme_id)


def _require_step_change(actor: Actor, event: Event) -> None:
    session = TrainingSession.objects.filter(workspace_id=actor.workspace_id, id=event.session_id).first()
    if session is not None:
        require_step(session.behaviour, str(event.payload["step"]))


def require_step(behaviour_key: str, step_key: str) -> None:
    """Refuse a behaviour or a step that the catalogue does not have. Raises InvalidInput."""
    behaviour = load_catalogue().find_behaviour(behaviour_key)
    if behaviour is None:
        raise InvalidInput.of(
            "behaviour",
            "“{behaviour}” is not in the catalogue; `pupilage catalogue` lists what is.",
            behaviour=behaviour_key,
        )
    if behaviour.step(step_key) is None:
        raise InvalidInput.of(
            "step",
            "“{step}” is not a step of “{behaviour}”; its steps are {known}.",
            step=step_key,
            behaviour=behaviour_key,
            known=", ".join(step.key for step in behaviour.steps),
        )


def _write(actor: Actor, events: Sequence[Event], now: datetime) -> None:
    SessionEvent.objects.bulk_create(
        SessionEvent(
            workspace_id=actor.workspace_id,
            event_id=event.id,
            device_id=event.device_id,
            device_seq=event.device_seq,
            session_id=event.session_id,
            kind=event.kind.value,
            at=event.at,
            tz_offset_min=event.tz_offset_min,
            payload=dict(event.payload),
            received_at=now,
        )
        for event in events
    )
    for device_id in {event.device_id for event in events}:
        Device.objects.update_or_create(
            workspace_id=actor.workspace_id,
            device_id=device_id,
            defaults={"last_seen_at": now, "user_id": actor.user_id},
        )


def fold_again(actor: Actor, session_id: UUID, source: TrialSource) -> SessionRecord | None:
    """Make a session's row and trials again from its log, inside the caller's transaction.

    None while the session's start has not arrived; its other events wait in the log. A session keeps the source
    it was first written from.
    """
    events = list_events(actor, session_id)
    kept = TrainingSession.objects.filter(id=session_id).values_list("source", flat=True).first()
    source = TrialSource(kept) if kept else source
    record = fold_session(events, source)
    if record is None:
        return None
    start = next(event for event in in_order(events) if event.kind is EventKind.SESSION_STARTED)
    programme = Programme.objects.get(workspace_id=actor.workspace_id, id=start.payload["programme"])
    session, _ = TrainingSession.objects.update_or_create(
        id=session_id, defaults=_session_fields(programme, record, source, start)
    )
    TrialRow.objects.filter(session=session).delete()
    TrialRow.objects.bulk_create(_trial_rows(programme, session, record))
    return record


def _session_fields(
    programme: Programme, record: SessionRecord, source: TrialSource, start: Event
) -> dict[str, object]:
    behaviour = load_catalogue().find_behaviour(record.behaviour)
    step = behaviour.step(record.step) if behaviour else None
    return {
        "workspace_id": programme.workspace_id,
        "programme": programme,
        "behaviour": record.behaviour,
        "step": record.step,
        "criterion": asdict(step.criterion) if step else {},
        "kind": record.kind.value,
        "source": source.value,
        "reinforcer": record.reinforcer,
        "pieces_given": sum(record.pieces_by.values()),
        "pieces_by": dict(record.pieces_by),
        "handler": record.handler,
        "place": record.place,
        "beside": UUID(record.beside) if record.beside else None,
        "started_at": start.at,
        "ended_at": record.ended_at,
    }


def _trial_rows(programme: Programme, session: TrainingSession, record: SessionRecord) -> list[TrialRow]:
    return [
        TrialRow(
            workspace_id=programme.workspace_id,
            session=session,
            programme=programme,
            event_id=trial.event_id,
            at=trial.at,
            behaviour=trial.behaviour,
            step=trial.step,
            kind=trial.kind.value,
            source=trial.source.value,
            outcome=trial.outcome.value,
            latency_s=trial.latency_s,
            held_s=trial.hold.held_s if trial.hold else None,
            target_s=trial.hold.target_s if trial.hold else None,
            broke=trial.hold.broke if trial.hold else None,
            pieces=trial.pieces,
        )
        for trial in record.trials
    ]
