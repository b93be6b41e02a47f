"""Sessions, their logs and the trials folded from them, as core's types."""

from collections import defaultdict
from collections.abc import Collection
from datetime import datetime
from operator import attrgetter
from typing import Any
from uuid import UUID

from django.db.models import Count, Max, QuerySet, Subquery, TextField
from django.db.models.functions import Cast

from pupilage.core.access import Actor, Scope
from pupilage.core.errors import NotFound
from pupilage.core.progress.days import SessionSpan
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind, Trial, TrialSource
from pupilage.core.training.record.fold import reinforcers_used
from pupilage.storage.models import Programme, SessionEvent, TrainingSession
from pupilage.storage.models import Trial as TrialRow

_TRIAL_FIELDS = (
    "event_text", "session_text", "at", "behaviour", "step", "outcome", "kind", "source",
    "latency_s", "held_s", "target_s", "broke", "pieces",
)  # fmt: skip


def sessions_readable_by(actor: Actor) -> QuerySet[TrainingSession]:
    """Return the sessions of the actor's workspace, the newest first."""
    return (
        TrainingSession.objects.filter(workspace_id=actor.workspace_id)
        .select_related("programme", "programme__dog")
        .order_by("-started_at", "id")
    )


def session_readable_by(actor: Actor, session_id: UUID) -> TrainingSession:
    """Return one session. Raises NotFound for an unknown one and for another workspace's."""
    session = sessions_readable_by(actor).filter(id=session_id).first()
    if session is None:
        raise NotFound("There is no such session here; choose one from the programme's page.")
    return session


def find_session_beside(actor: Actor, session_id: UUID) -> TrainingSession | None:
    """Return the session of the dog on its mat while this one runs, the newest where several arrived."""
    return sessions_readable_by(actor).filter(beside=session_id).first()


def find_last_step(programme: Programme, behaviour: str) -> str | None:
    """Return the step at which a behaviour's newest session was left, whether it has tries or not; None without one."""
    rows = TrainingSession.objects.filter(programme=programme, behaviour=behaviour).order_by("-started_at", "id")
    return rows.values_list("step", flat=True).first()


def list_events(actor: Actor, session_id: UUID) -> list[Event]:
    """Return a session's whole log in the order of arrival."""
    rows = SessionEvent.objects.filter(workspace_id=actor.workspace_id, session_id=session_id).order_by("id")
    return [event_of(row) for row in rows]


def list_pouches(programme: Programme) -> dict[str, list[tuple[datetime, str]]]:
    """Return which reinforcer was in the pouch of each of a programme's sessions and since when, by the session."""
    kinds = (EventKind.SESSION_STARTED, EventKind.REINFORCER_CHANGED, EventKind.WITHDRAWN)
    sessions = TrainingSession.objects.filter(programme=programme).values("id")
    rows = SessionEvent.objects.filter(
        workspace_id=programme.workspace_id, session_id__in=sessions, kind__in=[kind.value for kind in kinds]
    )
    events: dict[str, list[Event]] = defaultdict(list)
    for row in rows.order_by("id"):
        events[str(row.session_id)].append(event_of(row))
    return {session: reinforcers_used(own) for session, own in events.items()}


def list_session_names(programme: Programme) -> list[tuple[str, str]]:
    """Return who worked with the dog and where, each pair once, the newest first. Empty: the trainer; not said."""
    rows = TrainingSession.objects.filter(programme=programme).order_by("-started_at", "id")
    return list(dict.fromkeys(rows.values_list("handler", "place")))


def list_session_spans(programme: Programme) -> dict[str, SessionSpan]:
    """Return when each session of a programme began, with whom and where, by its key. One query."""
    rows = TrainingSession.objects.filter(programme=programme, workspace_id=programme.workspace_id).order_by()
    told = rows.values_list("id", "started_at", "handler", "place")
    return {str(key): SessionSpan(started_at, handler, place) for key, started_at, handler, place in told}


def last_session_of_device(programme: Programme, device_id: UUID) -> TrainingSession | None:
    """Return the newest of a programme's sessions that this device started; only the newest twenty are looked at."""
    sessions = list(TrainingSession.objects.filter(programme=programme).order_by("-started_at", "id")[:20])
    starts = SessionEvent.objects.filter(
        workspace_id=programme.workspace_id,
        session_id__in=[session.id for session in sessions],
        kind=EventKind.SESSION_STARTED.value,
        device_id=device_id,
    )
    own = set(starts.values_list("session_id", flat=True))
    return next((session for session in sessions if session.id in own), None)


def log_marks(scope: Scope) -> dict[str, Subquery]:
    """Return annotations that change whenever the log of a workspace does: `newest_event` and `n_events`.

    The newest entry alone would not do: on PostgreSQL an entry with a lower number may become visible after it.
    """
    rows = SessionEvent.objects.filter(workspace_id=scope.workspace_id)
    counted = rows.order_by().values("workspace_id").annotate(n=Count("pk")).values("n")
    return {
        "newest_event": Subquery(rows.order_by("-id").values("event_id")[:1]),
        "n_events": Subquery(counted),
    }


def event_of(row: SessionEvent) -> Event:
    """Return a row of the log as core's type."""
    return Event(
        id=str(row.event_id),
        device_id=str(row.device_id),
        device_seq=row.device_seq,
        session_id=str(row.session_id),
        kind=EventKind(row.kind),
        at=row.at,
        tz_offset_min=row.tz_offset_min,
        payload=row.payload,
    )


SessionMark = tuple[int, int]
"""The newest row of a session's trials and how many there are: a session's rows are always written anew together."""


def trial_marks(programme: Programme) -> dict[str, SessionMark]:
    """Return the mark of every session that has trials, by its key. One query."""
    rows = TrialRow.objects.filter(programme=programme, workspace_id=programme.workspace_id)
    marked = rows.order_by().values("session_id").annotate(newest=Max("id"), n=Count("id"))
    return {str(session): (newest, n) for session, newest, n in marked.values_list("session_id", "newest", "n")}


def trials_by_session(
    programme: Programme, *, sessions: Collection[str] | None = None
) -> dict[str, tuple[SessionMark, list[Trial]]]:
    """Return each session's mark and its trials in time order, void ones included. One query.

    sessions: only these; all of the programme when None.
    """
    rows = TrialRow.objects.filter(programme=programme, workspace_id=programme.workspace_id)
    if sessions is not None:
        rows = rows.filter(session_id__in=sessions)
    rows = rows.annotate(event_text=Cast("event_id", TextField()), session_text=Cast("session_id", TextField()))
    own: dict[str, tuple[list[int], list[Trial]]] = {}
    for row_id, *values in rows.order_by("at", "id").values_list("id", *_TRIAL_FIELDS):
        trial = _trial(tuple(values))
        ids, trials = own.setdefault(trial.session_id, ([], []))
        ids.append(row_id)
        trials.append(trial)
    return {key: ((max(ids), len(ids)), trials) for key, (ids, trials) in own.items()}


def list_trials(programme: Programme) -> list[Trial]:
    """Return the trials of a programme in time order, void ones included. One query."""
    marked = trials_by_session(programme).values()
    return sorted((trial for _, trials in marked for trial in trials), key=attrgetter("at"))


def _dashed(text: str) -> str:
    """Return a key as `str(UUID)` writes it; SQLite keeps it without dashes. Thousands of UUID objects are slow."""
    return text if len(text) == 36 else f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


_OUTCOMES = {o.value: o for o in Outcome}
_KINDS = {k.value: k for k in SessionKind}
_SOURCES = {s.value: s for s in TrialSource}


def _trial(values: tuple[Any, ...]) -> Trial:
    (
        event_id,
        session_id,
        at,
        behaviour,
        step,
        outcome,
        kind,
        source,
        latency_s,
        held_s,
        target_s,
        broke,
        n,
    ) = values
    return Trial(
        event_id=_dashed(event_id),
        session_id=_dashed(session_id),
        at=at,
        behaviour=behaviour,
        step=step,
        outcome=_OUTCOMES[outcome],
        kind=_KINDS[kind],
        source=_SOURCES[source],
        latency_s=latency_s,
        hold=None if held_s is None else Hold(held_s, target_s, broke),
        pieces=n,
    )
