"""A decision table for the phone: the engine's decision after every outcome of the next trials, looked up offline.

The phone needs no arithmetic: it appends m, x or h for each trial and reads the row. A table serves one step; when a
row says raise or lower and the trainer follows, the next table is that of the other step.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import product

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.decision import DAYS_AHEAD, Decision, decide
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.record.history import require_step

OUTCOMES = {"m": Outcome.MET, "x": Outcome.MISSED, "h": Outcome.HELPED}
DEPTH = 4
MOST_DEPTH = 7

BETWEEN_TRIALS = timedelta(seconds=8)
"""How long the next trials are taken to last each: 8 a minute is a brisk session (common practice)."""


@dataclass(frozen=True)
class Start:
    """Where a table begins: the running session at a step, pieces left in the pouch (None when nobody said).

    target: the goal's step, None for the behaviour's own; days_left before the hand-over.
    """

    session_id: str
    step: str
    now: datetime
    pieces_left: int | None = None
    target: str | None = None
    days_left: int = DAYS_AHEAD


def make_table(behaviour: Behaviour, known: Knowledge, start: Start, *, depth: int = DEPTH) -> Mapping[str, Decision]:
    """Return the decision for every string of m, x and h up to `depth` (0 to 7) long, the empty one included.

    Model: each string is written after the record, a trial every eight seconds, met and helped ones paid with a piece,
    and the engine asked as it would be then.
    Raises: InvalidInput for an unknown step or another depth.
    Equal to the engine asked with the whole log: tests/unit/training/test_tables.py.
    """
    require_step(behaviour, start.step)
    if not 0 <= depth <= MOST_DEPTH:
        raise InvalidInput.of("depth", "A table {depth} trials deep cannot be; give 0 to 7.", depth=depth)
    then = {"": known}
    for outcomes in outcome_strings(depth):
        if outcomes:
            then[outcomes] = then[outcomes[:-1]].with_trial(_next_trial(behaviour, start, outcomes))
    return {outcomes: _decision(behaviour, knowledge, start, outcomes) for outcomes, knowledge in then.items()}


def outcome_strings(depth: int) -> Iterator[str]:
    """Yield every string of m, x and h up to `depth` long, shorter ones first."""
    for length in range(depth + 1):
        yield from ("".join(letters) for letters in product(OUTCOMES, repeat=length))


def _decision(behaviour: Behaviour, known: Knowledge, start: Start, outcomes: str) -> Decision:
    paid = len(outcomes) - outcomes.count("x")
    return decide(
        behaviour,
        start.step,
        known,
        session_id=start.session_id,
        now=start.now + len(outcomes) * BETWEEN_TRIALS,
        pieces_left=None if start.pieces_left is None else max(0, start.pieces_left - paid),
        target=start.target,
        days_left=start.days_left,
    )


def written_after(behaviour: Behaviour, start: Start, outcomes: str) -> list[Trial]:
    """Return trials of these outcomes as they would be written after `start`."""
    return [_next_trial(behaviour, start, outcomes[: i + 1]) for i in range(len(outcomes))]


def _next_trial(behaviour: Behaviour, start: Start, outcomes: str) -> Trial:
    """Return the last of these trials."""
    return Trial(
        event_id=outcomes,
        session_id=start.session_id,
        at=start.now + len(outcomes) * BETWEEN_TRIALS,
        behaviour=behaviour.key,
        step=start.step,
        outcome=OUTCOMES[outcomes[-1]],
        kind=SessionKind.TRAINING,
    )
