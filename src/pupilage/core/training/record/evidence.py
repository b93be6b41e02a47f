"""Evidence: what happened at one try. Made from a session's events by `fold`, read by the estimates."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Outcome(StrEnum):
    """How one trial ended. Stored values are fixed for good."""

    MET = "met"
    MISSED = "missed"
    HELPED = "helped"
    VOID = "void"


class SessionKind(StrEnum):
    """A training session teaches; a probe measures, cold, and is kept apart. Stored values are fixed for good."""

    TRAINING = "training"
    PROBE = "probe"


class TrialSource(StrEnum):
    """Where a trial was written down. Stored values are fixed for good."""

    TAPPED = "tapped"
    IMPORTED = "imported"
    RECORDED = "recorded"
    """Heard in a recording, and checked by a person."""


@dataclass(frozen=True)
class Hold:
    """A timed try: seconds until the dog broke, or until the release (a censored time).

    target_s is what was asked; broke is False for a release.
    """

    held_s: float
    target_s: float
    broke: bool


@dataclass(frozen=True)
class Trial:
    """One try at one step. `at` is aware UTC; `latency_s` seconds from cue to behaviour, where it was taken.

    A hold's outcome follows from its times: released at or after the target is met, broken before it is missed,
    released before it is void as a trial (its seconds still count as a censored time).
    """

    event_id: str
    session_id: str
    at: datetime
    behaviour: str
    step: str
    outcome: Outcome
    kind: SessionKind
    source: TrialSource = TrialSource.TAPPED
    latency_s: float | None = None
    hold: Hold | None = None
    pieces: int = 0
