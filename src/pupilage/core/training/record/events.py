"""Session events: what a tap, a remote's key or an import writes down. Append-only; the log is the truth.

| kind | payload |
| --- | --- |
| session-started | programme (id), behaviour, step; may have kind, reinforcer, pieces, cold, handler, place |
| trial | outcome (met / missed / helped / void), latency_s (optional), pieces (given for it, 0 or more), source |
| hold-started | target_s |
| hold-broke, hold-released | hold (id of the hold-started event), held_s, pieces, source; a break may have its cause |
| paid | hold, pieces, interval_s (optional): paid while the hold goes on |
| seen | signs (of stress, a list), mouth (0 to 4, how food was taken); one of the two at least |
| step-changed | step |
| reinforcer-changed | reinforcer, pieces (now in the pouch) |
| withdrawn | event (id of the event that is taken back) |
| corrected | event (id of the trial), outcome |
| note | text |
| session-ended | reason (optional) |

kind (of a session): training or probe. handler: who worked with the dog, as a name (empty: the trainer). place: where,
as a name of the trainer's own (empty: not said); not the catalogue's `Place`, which says what a step asks for.
beside, of a start: the session of the dog that is worked meanwhile; this one's dog lies on its mat. The first such
start of a dog has as its step what the dog does already, as whoever trains says; that is no try.
source: where the try was written down, if not where its session was (`TrialSource`).
A correction is a new event that points at the first; nothing is overwritten. The order of a session's events is
(at, device_id, device_seq), whatever the order of arrival.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any


class EventKind(StrEnum):
    """What a session event says. Stored values are fixed for good."""

    SESSION_STARTED = "session-started"
    TRIAL = "trial"
    HOLD_STARTED = "hold-started"
    HOLD_BROKE = "hold-broke"
    HOLD_RELEASED = "hold-released"
    STEP_CHANGED = "step-changed"
    REINFORCER_CHANGED = "reinforcer-changed"
    PAID = "paid"
    SEEN = "seen"
    WITHDRAWN = "withdrawn"
    CORRECTED = "corrected"
    NOTE = "note"
    SESSION_ENDED = "session-ended"


@dataclass(frozen=True)
class Event:
    """One entry of a session's log. `at` is aware UTC; `tz_offset_min` is the device's offset at that moment."""

    id: str
    device_id: str
    device_seq: int
    session_id: str
    kind: EventKind
    at: datetime
    tz_offset_min: int = 0
    payload: Mapping[str, Any] = field(default_factory=dict)
