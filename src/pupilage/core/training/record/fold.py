"""From a session's events to its trials: a pure fold, the same for every order of arrival.

`fold_session` sorts by (at, device_id, device_seq), sets aside what was taken back, applies corrections, and
walks through the rest once. The start itself cannot be taken back.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind, Trial, TrialSource
from pupilage.core.training.record.mat import BreakCause, Pay
from pupilage.core.training.record.seen import Seen, StressSign


@dataclass(frozen=True)
class SessionRecord:
    """What a session's events amount to.

    trials are in time order, void ones included; pieces_left is None when nobody said how many there were;
    open_hold is the hold-started event whose end is not yet known; pieces_by: how many pieces of each reinforcer.
    handler is empty for the trainer; place is empty when nobody said where. beside: the session of the dog that is
    worked meanwhile, empty where this dog is the one; seen: signs and mouths, in time order; pays: what was paid while
    a hold went on; causes: what set a break off, by its event.
    """

    session_id: str
    behaviour: str
    step: str
    kind: SessionKind
    started_at: datetime
    ended_at: datetime | None
    reinforcer: str
    pieces_left: int | None
    trials: tuple[Trial, ...]
    open_hold: Event | None = None
    notes: tuple[str, ...] = ()
    pieces_by: Mapping[str, int] = field(default_factory=dict)
    handler: str = ""
    place: str = ""
    beside: str = ""
    seen: tuple[Seen, ...] = ()
    pays: tuple[Pay, ...] = ()
    causes: Mapping[str, BreakCause] = field(default_factory=dict)

    @property
    def last_standing_trial(self) -> Trial | None:
        """The newest trial, which is what undo takes back."""
        return self.trials[-1] if self.trials else None


def in_order(events: Iterable[Event]) -> list[Event]:
    """Return the events of a session in the order in which they happened."""
    return sorted(events, key=lambda event: (event.at, event.device_id, event.device_seq))


def fold_session(events: Sequence[Event], source: TrialSource = TrialSource.TAPPED) -> SessionRecord | None:
    """Return the record of one session, or None while its start has not arrived.

    Idempotent: an event that stands twice counts once. Any order of `events` gives the same record.
    """
    ordered = in_order({event.id: event for event in events}.values())
    withdrawn = _withdrawn(ordered)
    standing = [event for event in ordered if event.id not in withdrawn]
    start = next((event for event in ordered if event.kind is EventKind.SESSION_STARTED), None)
    if start is None:
        return None
    fold = _Fold(start, _corrections(standing), source)
    for event in standing:
        if event.kind is not EventKind.SESSION_STARTED:
            fold.take(event)
    return fold.record()


def _withdrawn(ordered: list[Event]) -> set[str]:
    """Return the ids that are taken back; taking back a withdrawal restores what it took back."""
    taken: set[str] = set()
    for event in reversed(ordered):
        if event.kind is EventKind.WITHDRAWN and event.id not in taken:
            taken.add(str(event.payload["event"]))
    return taken


def _corrections(standing: list[Event]) -> dict[str, Outcome]:
    """Return the outcome that stands for each corrected trial: the newest correction wins."""
    return {
        str(event.payload["event"]): Outcome(event.payload["outcome"])
        for event in standing
        if event.kind is EventKind.CORRECTED
    }


def reinforcers_used(events: Iterable[Event]) -> list[tuple[datetime, str]]:
    """Return what was in the pouch of one session, and since when: its start, then every change that stands.

    events: of one session, in any order; trials need not be among them. Empty while the start has not arrived.
    """
    ordered = in_order({event.id: event for event in events}.values())
    withdrawn = _withdrawn(ordered)
    start = [event for event in ordered if event.kind is EventKind.SESSION_STARTED][:1]
    changes = [e for e in ordered if e.kind is EventKind.REINFORCER_CHANGED and e.id not in withdrawn]
    return [(event.at, str(event.payload.get("reinforcer", ""))) for event in (*start, *changes)] if start else []


def hold_outcome(hold: Hold) -> Outcome:
    """Return the outcome that follows from a hold's times (see `Trial`)."""
    if hold.broke:
        return Outcome.MET if hold.held_s >= hold.target_s else Outcome.MISSED
    return Outcome.MET if hold.held_s >= hold.target_s else Outcome.VOID


@dataclass
class _Fold:
    """The state carried from event to event."""

    start: Event
    corrections: dict[str, Outcome]
    source: TrialSource
    step: str = field(init=False)
    reinforcer: str = field(init=False)
    pieces: int | None = field(init=False)
    ended_at: datetime | None = None
    trials: list[Trial] = field(default_factory=list)
    open_holds: dict[str, Event] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    pieces_by: dict[str, int] = field(default_factory=dict)
    seen: list[Seen] = field(default_factory=list)
    pays: list[Pay] = field(default_factory=list)
    causes: dict[str, BreakCause] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.step = str(self.start.payload["step"])
        self.reinforcer = str(self.start.payload.get("reinforcer", ""))
        self.pieces = self.start.payload.get("pieces")

    def take(self, event: Event) -> None:
        payload = event.payload
        match event.kind:
            case EventKind.TRIAL:
                self._add(event, Outcome(payload["outcome"]), None)
            case EventKind.HOLD_STARTED:
                self.open_holds[event.id] = event
            case EventKind.HOLD_BROKE | EventKind.HOLD_RELEASED:
                self._end_hold(event)
            case EventKind.STEP_CHANGED:
                self.step = str(payload["step"])
            case EventKind.REINFORCER_CHANGED:
                self.reinforcer = str(payload["reinforcer"])
                self.pieces = payload.get("pieces")
            case EventKind.PAID:
                self._pay(event)
            case EventKind.SEEN:
                signs = tuple(StressSign(sign) for sign in payload.get("signs", ()))
                self.seen.append(Seen(event.id, event.at, signs, payload.get("mouth")))
            case EventKind.NOTE:
                self.notes.append(str(payload["text"]))
            case EventKind.SESSION_ENDED:
                self.ended_at = event.at

    def _pay(self, event: Event) -> None:
        pieces = self._take_pieces(event)
        interval_s = event.payload.get("interval_s")
        hold = str(event.payload["hold"])
        self.pays.append(Pay(event.id, event.at, hold, pieces, None if interval_s is None else float(interval_s)))

    def _take_pieces(self, event: Event) -> int:
        """Return the pieces given at an event, out of the pouch."""
        pieces = int(event.payload.get("pieces", 0))
        if self.pieces is not None:
            self.pieces = max(0, self.pieces - pieces)
        if pieces:
            self.pieces_by[self.reinforcer] = self.pieces_by.get(self.reinforcer, 0) + pieces
        return pieces

    def _end_hold(self, event: Event) -> None:
        started = self.open_holds.pop(str(event.payload["hold"]), None)
        if started is None:
            return  # its start was taken back, or it ended on another phone already
        hold = Hold(
            held_s=float(event.payload["held_s"]),
            target_s=float(started.payload["target_s"]),
            broke=event.kind is EventKind.HOLD_BROKE,
        )
        if event.payload.get("cause"):
            self.causes[event.id] = BreakCause(event.payload["cause"])
        self._add(event, hold_outcome(hold), hold)

    def _add(self, event: Event, outcome: Outcome, hold: Hold | None) -> None:
        pieces = self._take_pieces(event)
        self.trials.append(
            Trial(
                event_id=event.id,
                session_id=event.session_id,
                at=event.at,
                behaviour=str(self.start.payload["behaviour"]),
                step=self.step,
                outcome=self.corrections.get(event.id, outcome),
                kind=SessionKind(self.start.payload.get("kind", SessionKind.TRAINING)),
                source=TrialSource(event.payload.get("source", self.source)),
                latency_s=_latency_s(event),
                hold=hold,
                pieces=pieces,
            )
        )

    def record(self) -> SessionRecord:
        return SessionRecord(
            session_id=self.start.session_id,
            behaviour=str(self.start.payload["behaviour"]),
            step=self.step,
            kind=SessionKind(self.start.payload.get("kind", SessionKind.TRAINING)),
            started_at=self.start.at,
            ended_at=self.ended_at,
            reinforcer=self.reinforcer,
            pieces_left=self.pieces,
            trials=tuple(self.trials),
            open_hold=next(reversed(self.open_holds.values()), None),
            notes=tuple(self.notes),
            pieces_by=self.pieces_by,
            beside=str(self.start.payload.get("beside", "")),
            seen=tuple(self.seen),
            pays=tuple(self.pays),
            causes=self.causes,
            handler=str(self.start.payload.get("handler", "")).strip(),
            place=str(self.start.payload.get("place", "")).strip(),
        )


def _latency_s(event: Event) -> float | None:
    latency = event.payload.get("latency_s")
    return float(latency) if latency is not None and math.isfinite(float(latency)) else None
