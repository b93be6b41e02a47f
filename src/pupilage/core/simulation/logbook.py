"""The log of one session as the phone would write it: ids, sequence numbers, instants, and what was fed."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from numpy.random import Generator

from pupilage.core.simulation.chance import draw_id
from pupilage.core.simulation.stay import Stay
from pupilage.core.training.record.events import Event, EventKind


@dataclass
class Phone:
    """The device on which all sessions are tapped; its sequence numbers never repeat."""

    id: str
    stay: Stay
    rng: Generator
    seq: int = 0


@dataclass
class SessionLog:
    """The events of one session so far, and the pieces given for each reinforcer.

    at: the instant that the next event is counted from.
    """

    phone: Phone
    at: datetime
    reinforcer: str
    pieces_left: int
    session_id: str = ""
    events: list[Event] = field(default_factory=list)
    n_fed: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.session_id = draw_id(self.phone.rng)

    @property
    def elapsed_s(self) -> float:
        """Seconds since the first event."""
        return (self.at - self.events[0].at).total_seconds()

    def write(self, kind: EventKind, after_s: float, /, **payload: Any) -> Event:
        """Add an event `after_s` seconds (0.1 or more) after the last one, to the tenth of a second."""
        if self.events:
            self.at += timedelta(milliseconds=100 * max(1, round(10 * after_s)))
        self.phone.seq += 1
        event = Event(
            id=draw_id(self.phone.rng),
            device_id=self.phone.id,
            device_seq=self.phone.seq,
            session_id=self.session_id,
            kind=kind,
            at=self.at,
            tz_offset_min=self.phone.stay.offset_min(self.at),
            payload=payload,
        )
        self.events.append(event)
        return event

    def feed(self, wanted: int) -> int:
        """Take pieces from the pouch, as many as are left. Returns how many were given."""
        given = min(wanted, self.pieces_left)
        self.pieces_left -= given
        self.n_fed[self.reinforcer] = self.n_fed.get(self.reinforcer, 0) + given
        return given

    def change_reinforcer(self, name: str, pieces: int) -> None:
        """Fill the pouch with something else."""
        self.reinforcer, self.pieces_left = name, pieces
        self.write(EventKind.REINFORCER_CHANGED, 4.0, reinforcer=name, pieces=pieces)
