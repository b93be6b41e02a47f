"""A decision table for the phone: the engine's advice after every outcome of the next trials, looked up offline.

The phone needs no arithmetic: it appends m, x or h for each trial and reads the row. A table serves one step; when a
row says raise or lower and the trainer follows, the next table is that of the other step.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import product

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.errors import InvalidInput
from pupilage.core.training.advice import Action, Advice, Counts, advise
from pupilage.core.training.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.history import require_step
from pupilage.core.training.state import DogState, at_moment, fold
from pupilage.core.words import Sentence

OUTCOMES = {"m": Outcome.MET, "x": Outcome.MISSED, "h": Outcome.HELPED}
DEPTH = 5
MOST_DEPTH = 7


@dataclass(frozen=True)
class Row:
    """The advice after a row of outcomes: what to do, the step's key, and why."""

    action: Action
    step: str
    reason: Sentence


def make_table(
    behaviour: Behaviour,
    step: str,
    state: DogState,
    counts: Counts,
    *,
    session_id: str,
    now: datetime,
    depth: int = DEPTH,
) -> Mapping[str, Row]:
    """Return the row for every string of m, x and h up to `depth` long, the empty one included.

    Parameters: state, after the last trial; counts of the current run; now, at or after it; depth 0 to 7.
    Raises: InvalidInput for an unknown step or another depth.
    Equal to folding the trials and asking the engine, outcome by outcome: tests/unit/training/test_tables.py.
    """
    require_step(behaviour, step)
    if not 0 <= depth <= MOST_DEPTH:
        raise InvalidInput.of("depth", "A table {depth} trials deep cannot be; give 0 to 7.", depth=depth)
    place = behaviour.step_index(step) or 0
    rows: dict[str, Row] = {}
    folded = {"": (state, counts)}
    for outcomes in outcome_strings(depth):
        if outcomes:
            before, counted = folded[outcomes[:-1]]
            trial = _trial(behaviour, step, session_id, now, outcomes)
            folded[outcomes] = (fold(before, [trial]), counted.after(outcomes[-1]))
        then, counted = folded[outcomes]
        rows[outcomes] = _row(behaviour, advise(behaviour, place, at_moment(then, behaviour.key, now=now), counted))
    return rows


def outcome_strings(depth: int) -> Iterator[str]:
    """Yield every string of m, x and h up to `depth` long, shorter ones first."""
    for length in range(depth + 1):
        yield from ("".join(letters) for letters in product(OUTCOMES, repeat=length))


def _trial(behaviour: Behaviour, step: str, session_id: str, now: datetime, outcomes: str) -> Trial:
    outcome = OUTCOMES[outcomes[-1]]
    return Trial(outcomes, session_id, now, behaviour.key, step, outcome, SessionKind.TRAINING)


def _row(behaviour: Behaviour, advice: Advice) -> Row:
    return Row(advice.action, behaviour.steps[advice.step].key, advice.reason)
