"""Letting the checked trials of a recording count: they enter the same log as tapped ones, each once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import inf
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Q

from pupilage.core.access import Actor
from pupilage.core.clock import offset_min, require_aware
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.counted import CountedTrial, LogWriter, counted_trial, is_settled
from pupilage.core.recordings.merging import Merge, TappedTrial, merge_trials
from pupilage.core.recordings.trials import HeardTrial, fold_trials
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Outcome, SessionKind, TrialSource
from pupilage.core.training.record.fold import fold_session
from pupilage.core.words import Sentence, sentence
from pupilage.services.auditing import audit
from pupilage.services.learn_voice import learn_from_checked
from pupilage.services.record_events import MAX_EVENTS_A_CALL, Status, record_events, require_step
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme, Recording, SessionEvent, TrainingSession
from pupilage.storage.queries.recordings import list_recording_events, recording_writable_by
from pupilage.storage.queries.sessions import list_events
from pupilage.storage.trial_rules import rules_of_catalogue

NEAR = timedelta(seconds=30)
"""How far the clocks of a phone and a camera are apart as a rule."""
FAR = timedelta(seconds=120)
"""How far they may be: a session that is near only so is taken for the same where its tries fit."""


@dataclass(frozen=True)
class CountedBehaviour:
    """What became of one behaviour's trials. n_both: of them, tapped live as well, so not written again.

    sessions: where they went, by id. merges: how far tapping and hearing agree, a session each.
    """

    behaviour: str
    n_trials: int
    n_both: int
    n_written: int
    sessions: tuple[UUID, ...] = ()
    merges: tuple[Merge, ...] = ()
    sentences: tuple[Sentence, ...] = ()


@dataclass(frozen=True)
class Counted:
    """What became of a recording's trials.

    n_unsettled: still to be checked; n_unanswered: nobody said what the dog did. unasked: the cue of each that was
    left out because it asks for nothing of the catalogue.
    """

    behaviours: tuple[CountedBehaviour, ...]
    n_unsettled: int
    n_unanswered: int
    unasked: tuple[str, ...] = ()


@dataclass
class _Count:
    """What one call works with."""

    actor: Actor
    recording: Recording
    programme: Programme
    began_at: datetime
    now: datetime
    steps: Mapping[str, str]
    written: list[Event] = field(default_factory=list)

    def writer(self, session_id: UUID) -> LogWriter:
        offset = offset_min(self.began_at, self.actor.zone)
        return LogWriter(session_id, self.recording.id, offset, self.now)


def count_recording(
    actor: Actor,
    recording_id: UUID,
    steps: Mapping[str, str],
    *,
    now: datetime,
    began_at: datetime | None = None,
) -> Counted:
    """Write the trials that are checked whole and have an outcome into the log. One transaction.

    steps: what was asked, by behaviour. began_at: the moment of the player's 0:00, where the recording has none.
    Who may: whoever may write. Idempotent: counting again writes only what was put right since. What was tapped live
    at the same time is not written twice; a session that cannot be matched keeps its trials out, and says so.
    Its voices learn from what was checked. Raises InvalidInput without a beginning, a stay or a step.
    """
    recording = recording_writable_by(actor, recording_id)
    count = _Count(actor, recording, _programme_of(recording, began_at), _beginning(recording, began_at), now, steps)
    rules = rules_of_catalogue()
    events = list_recording_events(recording)
    trials = fold_trials(events, rules)
    settled = [trial for trial in trials if is_settled(trial, events, rules)]
    answered = [trial for trial in settled if trial.outcome and trial.behaviour]
    keys = dict.fromkeys([trial.behaviour for trial in answered] + _counted_before(recording))
    _require_steps(steps, [trial.behaviour for trial in answered])
    with transaction.atomic():
        if recording.began_at is None:
            Recording.objects.filter(id=recording.id).update(began_at=count.began_at)
        found = tuple(_count_behaviour(count, key, [t for t in answered if t.behaviour == key]) for key in keys)
        if count.written:
            audit(actor, "count-recording", str(recording.id), now=now, entries=len(count.written))
        learn_from_checked(actor, recording.id, now=now)
    n_answered = sum(bool(trial.outcome) for trial in settled)
    unasked = tuple(trial.label for trial in settled if trial.outcome and not trial.behaviour)
    return Counted(found, len(trials) - len(settled), len(settled) - n_answered, unasked)


def session_id_of(recording_id: UUID, behaviour: str) -> UUID:
    """Return the id of the session that a recording's trials of one behaviour go into."""
    return uuid5(recording_id, behaviour)


def live_sessions_beside(recording: Recording, programme: Programme, behaviour: str) -> list[TrainingSession]:
    """Return the tapped training sessions of a behaviour that ran while it was recorded, or near, the first first."""
    if recording.began_at is None:
        return []
    ended = recording.began_at + timedelta(seconds=recording.duration_s or 0.0)
    rows = TrainingSession.objects.filter(
        Q(ended_at=None) | Q(ended_at__gte=recording.began_at - FAR),
        programme=programme,
        behaviour=behaviour,
        kind=SessionKind.TRAINING,
        source=TrialSource.TAPPED,
        started_at__lte=ended + FAR,
        started_at__gte=recording.began_at - timedelta(hours=12),
    )
    return list(rows.order_by("started_at", "id"))


def merge_session(
    actor: Actor, recording: Recording, session: TrainingSession, heard: Sequence[HeardTrial]
) -> Merge | None:
    """Return how the heard trials lie beside those tapped in a session.

    None where either has none, and where a session that ran before or after the recording is another one.
    """
    record = fold_session(list_events(actor, session.id))
    tapped = [
        TappedTrial((t.at - session.started_at).total_seconds(), t.behaviour, t.outcome, t.event_id)
        for t in (record.trials if record else ())
        if t.source is TrialSource.TAPPED and t.outcome is not Outcome.VOID
    ]
    if not tapped or not heard or recording.began_at is None:
        return None
    guess_s = (session.started_at - recording.began_at).total_seconds()
    merge = merge_trials(tapped, heard, guess_s=guess_s, filmed_s=(0.0, recording.duration_s or inf))
    return None if merge.offset_s is None and not _ran_meanwhile(recording, session) else merge


def _ran_meanwhile(recording: Recording, session: TrainingSession) -> bool:
    began_at = recording.began_at or session.started_at
    ended_at = began_at + timedelta(seconds=recording.duration_s or 0.0)
    return session.started_at <= ended_at + NEAR and (session.ended_at is None or session.ended_at >= began_at - NEAR)


def _count_behaviour(count: _Count, key: str, trials: Sequence[HeardTrial]) -> CountedBehaviour:
    own, merges, says, sessions = list(trials), [], [], []
    n_both = n_written = 0
    count.recording.began_at = count.began_at
    for session in live_sessions_beside(count.recording, count.programme, key):
        merge = merge_session(count.actor, count.recording, session, own)
        if merge is None:
            n_written += _write(count, session.id, [])
            continue
        merges.append(merge)
        zero_at = _zero_at(count, session, merge)
        inside = [trial for trial in own if _during(session, zero_at + timedelta(seconds=trial.start_s))]
        if merge.offset_s is None:
            says += [*merge.sentences, _held_back(len(inside))]
            own = [trial for trial in own if trial not in inside]
            continue
        both = [one.heard for one in merge.trials if one.tapped is not None and one.heard is not None]
        new = [trial for trial in inside if trial not in both]
        own = [trial for trial in own if trial not in both and trial not in new]
        n_both += len(both)
        n_written += _write(count, session.id, _as_counted(new, zero_at, session.step))
        sessions.append(session.id)
    step = count.steps.get(key, "")
    session_id = session_id_of(count.recording.id, key)
    counted = _as_counted(own, count.began_at, step)
    if counted or TrainingSession.objects.filter(id=session_id).exists():
        start = _start(count, session_id, key, step, counted)
        n_written += _write(count, session_id, counted, start)
        sessions.append(session_id)
    return CountedBehaviour(key, len(trials), n_both, n_written, tuple(sessions), tuple(merges), tuple(says))


def _as_counted(trials: Sequence[HeardTrial], zero_at: datetime, step: str) -> list[CountedTrial]:
    found = []
    for trial in trials:
        behaviour = load_catalogue().find_behaviour(trial.behaviour)
        asked = behaviour.step(step) if behaviour else None
        counted = counted_trial(trial, zero_at, asked.criterion.duration_s if asked else None)
        found += [counted] if counted else []
    return found


def _start(count: _Count, session_id: UUID, key: str, step: str, counted: Sequence[CountedTrial]) -> list[Event]:
    """Return the start of the recording's own session, or the change of its step where another one is told now."""
    session = TrainingSession.objects.filter(id=session_id).first()
    writer = count.writer(session_id)
    if session is None:
        told = {
            "programme": str(count.programme.id),
            "behaviour": key,
            "step": step,
            "kind": SessionKind.TRAINING.value,
        }
        return [writer.start(told, min(trial.at for trial in counted) - timedelta(milliseconds=1))]
    now_at = fold_session(list_events(count.actor, session_id))
    if not step or now_at is None or now_at.step == step:
        return []
    return [writer.change_step(step, session.started_at, list_events(count.actor, session_id))]


def _write(count: _Count, session_id: UUID, wanted: Sequence[CountedTrial], first: Sequence[Event] = ()) -> int:
    log = [*list_events(count.actor, session_id), *first]
    events = [*first, *count.writer(session_id).differences(wanted, log)]
    for begin in range(0, len(events), MAX_EVENTS_A_CALL):
        batch = events[begin : begin + MAX_EVENTS_A_CALL]
        verdicts = record_events(count.actor, batch, now=count.now, source=TrialSource.RECORDED)
        refused = next((verdict for verdict in verdicts if verdict.status is Status.REJECTED), None)
        if refused is not None:
            raise InvalidInput.of("", "A try was not stored: {reason}", reason=str(refused.reason))
    count.written += events
    return sum(event.kind in (EventKind.TRIAL, EventKind.HOLD_BROKE, EventKind.HOLD_RELEASED) for event in events)


def _zero_at(count: _Count, session: TrainingSession, merge: Merge) -> datetime:
    """Return the moment of the player's 0:00 on the clock that the session was tapped by, to the second."""
    if merge.offset_s is None:
        return count.began_at
    apart_s = (session.started_at - count.began_at).total_seconds() - merge.offset_s
    return count.began_at + timedelta(seconds=round(apart_s))


def _during(session: TrainingSession, at: datetime) -> bool:
    return session.started_at - NEAR <= at and (session.ended_at is None or at <= session.ended_at + NEAR)


def _held_back(n: int) -> Sentence:
    return sentence("Heard during that tapped session and not written down, so that nothing counts twice: {n}.", n=n)


def _counted_before(recording: Recording) -> list[str]:
    """Return the behaviours that this recording has written trials of, into its own session or a tapped one."""
    wrote = SessionEvent.objects.filter(workspace_id=recording.workspace_id, device_id=recording.id)
    rows = TrainingSession.objects.filter(id__in=wrote.values("session_id"))
    return list(rows.order_by("started_at", "id").values_list("behaviour", flat=True))


def _beginning(recording: Recording, began_at: datetime | None) -> datetime:
    moment = recording.began_at or began_at
    if moment is None:
        told = "Nobody knows when this recording began; say when, and its tries count."
        raise InvalidInput.of("began_at", told)
    require_aware(moment)
    return moment


def _programme_of(recording: Recording, began_at: datetime | None) -> Programme:
    """Return the stay that the recording belongs to: its own, else the one that ran on its day."""
    if recording.programme is not None:
        return recording.programme
    day = _beginning(recording, began_at).date()
    running = Programme.objects.filter(dog_id=recording.dog_id, arrival_on__lte=day, handover_on__gte=day)
    found = running.order_by("-arrival_on").first() or (
        Programme.objects.filter(dog_id=recording.dog_id).order_by("-arrival_on").first()
    )
    if found is None:
        raise InvalidInput.of("programme", "This dog has no stay here that its tries could count in; start one first.")
    return found


def _require_steps(steps: Mapping[str, str], behaviours: Sequence[str]) -> None:
    for key in dict.fromkeys(behaviours):
        if not steps.get(key):
            told = "Say which step of “{behaviour}” was asked for."
            raise InvalidInput.of(f"step-{key}", told, behaviour=key)
        require_step(key, steps[key])
