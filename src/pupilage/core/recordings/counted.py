"""Checked trials of a recording as entries of a session's log: counting again writes only what has changed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid5

from pupilage.core.recordings.events import Band, EventKind, EventState
from pupilage.core.recordings.events import Event as HeardEvent
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.core.recordings.trials import HeardTrial
from pupilage.core.training.record.events import Event
from pupilage.core.training.record.events import EventKind as Entry
from pupilage.core.training.record.evidence import Hold, Outcome, TrialSource
from pupilage.core.training.record.fold import hold_outcome

_NOT_OF_TRIALS = (EventKind.TALK, EventKind.IGNORE, EventKind.NAME, EventKind.PRAISE, EventKind.BARK, EventKind.WHINE)
RECORDED = TrialSource.RECORDED.value


@dataclass(frozen=True)
class CountedTrial:
    """A trial that a person has checked whole and answered for. at: aware UTC, of its first cue.

    id: made from the cue's, the moment and the hold: a trial that was moved is another one.
    """

    id: UUID
    at: datetime
    behaviour: str
    outcome: Outcome
    hold: Hold | None = None


def is_settled(trial: HeardTrial, events: Iterable[HeardEvent], rules: TrialRules) -> bool:
    """Tell whether nothing unchecked that is shown could still change the trial."""
    if trial.n_unchecked:
        return False
    ends = [trial.cues[-1].start_s + rules.marker_within_s]
    if trial.marker is not None or trial.end is not None:
        ends = [event.start_s for event in (trial.marker, trial.end) if event is not None]
    first_s, last_s = trial.start_s - rules.repeat_within_s, max(ends)
    return not any(_could_change(event) and first_s <= event.start_s <= last_s for event in events)


def counted_trial(trial: HeardTrial, began_at: datetime, target_s: float | None = None) -> CountedTrial | None:
    """Return the trial as it counts, None where nobody said what the dog did or the cue asks for no behaviour.

    target_s: of a behaviour that is held, what its step asks for; the seconds count only where both ends are exact.
    The seconds from cue to marker do not count as the dog's latency: the trainer's own reaction is among them.
    """
    if not trial.outcome or not trial.behaviour:
        return None
    hold = None
    if target_s and trial.hold is not None and trial.hold.exact:
        hold = Hold(round(trial.hold.held_s, 2), target_s, trial.hold.broke)
    at = began_at + timedelta(milliseconds=round(1000 * trial.start_s))
    told = f"{at.isoformat()} {hold}"
    return CountedTrial(uuid5(UUID(trial.cues[0].id), told), at, trial.behaviour, Outcome(trial.outcome), hold)


@dataclass(frozen=True)
class LogWriter:
    """Writes entries of one session as one device, the recording itself. first_seq: above all it wrote before."""

    session_id: UUID
    device_id: UUID
    tz_offset_min: int
    now: datetime

    def differences(self, wanted: Sequence[CountedTrial], log: Sequence[Event]) -> list[Event]:
        """Return what is to be written so that exactly the wanted trials stand of those that this device wrote.

        Idempotent: where they stand, nothing. An outcome that a person put right in the session stays, until the
        recording says another one than it said before.
        """
        own = [event for event in log if event.device_id == str(self.device_id)]
        standing = _standing(own)
        written = _outcomes(own)
        wants = {str(trial.id): trial for trial in wanted}
        out: list[tuple[str, datetime, Entry, dict[str, Any]]] = []
        for trial_id in written:
            if trial_id not in wants and _root(trial_id, own) in standing:
                out.append(self._taken_back(_root(trial_id, own), own))
        for trial_id, trial in wants.items():
            if trial_id not in written:
                out += _entries(trial)
                continue
            if _root(trial_id, own) not in standing:
                out.append(self._taken_back(_withdrawal_of(_root(trial_id, own), own), own))
            if written[trial_id] is not trial.outcome:
                out.append(self._corrected(trial, own))
        seq = max((event.device_seq for event in own), default=0)
        return [self._event(seq + n, *entry) for n, entry in enumerate(out, 1)]

    def start(self, payload: Mapping[str, Any], at: datetime) -> Event:
        """Return the entry that starts the session."""
        return self._event(0, str(uuid5(self.session_id, "start")), at, Entry.SESSION_STARTED, dict(payload))

    def change_step(self, step: str, at: datetime, log: Sequence[Event]) -> Event:
        """Return the entry by which another step was asked for from the session's start on."""
        seq = 1 + max((e.device_seq for e in log if e.device_id == str(self.device_id)), default=0)
        return self._event(seq, str(uuid5(self.session_id, f"step {seq}")), at, Entry.STEP_CHANGED, {"step": step})

    def _taken_back(self, event_id: str, own: Sequence[Event]) -> tuple[str, datetime, Entry, dict[str, Any]]:
        new_id = str(uuid5(UUID(event_id), f"taken back {len(own)}"))
        return new_id, self.now, Entry.WITHDRAWN, {"event": event_id}

    def _corrected(self, trial: CountedTrial, own: Sequence[Event]) -> tuple[str, datetime, Entry, dict[str, Any]]:
        new_id = str(uuid5(trial.id, f"corrected {len(own)}"))
        return new_id, self.now, Entry.CORRECTED, {"event": str(trial.id), "outcome": trial.outcome.value}

    def _event(self, seq: int, event_id: str, at: datetime, kind: Entry, payload: dict[str, Any]) -> Event:
        return Event(event_id, str(self.device_id), seq, str(self.session_id), kind, at, self.tz_offset_min, payload)


def _could_change(event: HeardEvent) -> bool:
    return event.state is EventState.SUGGESTED and event.band is not Band.HIDDEN and event.kind not in _NOT_OF_TRIALS


def _entries(trial: CountedTrial) -> list[tuple[str, datetime, Entry, dict[str, Any]]]:
    trial_id = str(trial.id)
    if trial.hold is None:
        payload: dict[str, Any] = {"outcome": trial.outcome.value, "source": RECORDED}
        return [(trial_id, trial.at, Entry.TRIAL, payload)]
    start_id = str(uuid5(trial.id, "hold"))
    ended = Entry.HOLD_BROKE if trial.hold.broke else Entry.HOLD_RELEASED
    held = {"hold": start_id, "held_s": trial.hold.held_s, "source": RECORDED}
    entries: list[tuple[str, datetime, Entry, dict[str, Any]]] = [
        (start_id, trial.at, Entry.HOLD_STARTED, {"target_s": trial.hold.target_s}),
        (trial_id, trial.at + timedelta(seconds=trial.hold.held_s), ended, held),
    ]
    if hold_outcome(trial.hold) is not trial.outcome:
        told = {"event": trial_id, "outcome": trial.outcome.value}
        entries.append((str(uuid5(trial.id, "outcome")), entries[-1][1], Entry.CORRECTED, told))
    return entries


def _standing(own: Sequence[Event]) -> set[str]:
    """Return the ids that are not taken back; taking back a withdrawal restores."""
    taken: set[str] = set()
    for event in sorted(own, key=lambda one: -one.device_seq):
        if event.kind is Entry.WITHDRAWN and event.id not in taken:
            taken.add(str(event.payload["event"]))
    return {event.id for event in own} - taken


def _outcomes(own: Sequence[Event]) -> dict[str, Outcome]:
    """Return what this device last said of each of its trials, by the trial's id."""
    targets = {event.id: float(event.payload["target_s"]) for event in own if event.kind is Entry.HOLD_STARTED}
    found: dict[str, Outcome] = {}
    for event in sorted(own, key=lambda one: one.device_seq):
        if event.kind is Entry.TRIAL:
            found[event.id] = Outcome(event.payload["outcome"])
        elif event.kind in (Entry.HOLD_BROKE, Entry.HOLD_RELEASED):
            target_s = targets[str(event.payload["hold"])]
            broke = event.kind is Entry.HOLD_BROKE
            found[event.id] = hold_outcome(Hold(float(event.payload["held_s"]), target_s, broke))
        elif event.kind is Entry.CORRECTED:
            found[str(event.payload["event"])] = Outcome(event.payload["outcome"])
    return found


def _root(trial_id: str, own: Sequence[Event]) -> str:
    """Return what has to be taken back for a trial to go: its own entry, or the start of its hold."""
    event = next(one for one in own if one.id == trial_id)
    return str(event.payload.get("hold", trial_id))


def _withdrawal_of(event_id: str, own: Sequence[Event]) -> str:
    return next(
        event.id
        for event in sorted(own, key=lambda one: -one.device_seq)
        if event.kind is Entry.WITHDRAWN and event.payload["event"] == event_id and event.id in _standing(own)
    )
