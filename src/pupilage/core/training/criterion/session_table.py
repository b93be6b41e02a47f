"""A whole session's decisions for the phone: every start of it, and the likeliest ways on from there.

`tables` foretells a few tries with their pauses. This one goes on: over a step that was changed because the decision
said so, and as far as a session is likely to go. It holds what the engine says of the criterion alone; the pauses,
which hang on the clock, are looked at by the phone itself (`phone_rules`).
"""

import heapq
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.decision import Decision, judge_run
from pupilage.core.training.criterion.tables import BETWEEN_TRIALS, OUTCOMES, Start
from pupilage.core.training.criterion.welfare import MAX_SESSION_TRIALS
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.record.evidence import SessionKind, Trial
from pupilage.core.training.record.history import require_step

FOLLOWED = ">"
"""The trainer went to the step that the decision named."""

WHOLE = 3
"""So many tries are foretold whatever their outcomes."""

MOST_ROWS = 250
P_FOLLOWED = 0.8
P_HELPED = 0.2
"""How likely the decision is followed, and how many of the tries not met are helped: only the order in which rows are
made hangs on them (assumptions)."""


@dataclass(frozen=True)
class _Place:
    """Where a string of outcomes leads: what would be known, the step in practice, and how likely it comes to that."""

    known: Knowledge
    step: str
    n_trials: int
    p: float


def make_session_table(
    behaviour: Behaviour, known: Knowledge, start: Start, *, whole: int = WHOLE, most_rows: int = MOST_ROWS
) -> Mapping[str, Decision]:
    """Return the decision on the criterion after strings of m, x, h and `>` (the decision was followed).

    Model: every string of up to `whole` outcomes, moves between them included; then the likeliest next, by the grid's
    own chance of the next try, up to `most_rows` rows or 15 tries. Each row is the engine asked with the whole log.
    A row is never there without the rows before it. start.pieces_left is not read: an empty pouch is a pause.
    Parameters: whole 0 to 5; most_rows 1 to 5000.
    Raises: InvalidInput for an unknown step, or figures outside these.
    Checked in tests/unit/training/test_session_table.py (exhaustively to its depth, and at random beyond).
    """
    require_step(behaviour, start.step)
    if not (0 <= whole <= 5 and 1 <= most_rows <= 5000):
        raise InvalidInput.of("whole", "Give 0 to 5 tries and 1 to 5000 rows, not {a} and {b}.", a=whole, b=most_rows)
    table: dict[str, Decision] = {}
    waiting: list[tuple[bool, float, str]] = [(False, -1.0, "")]
    places = {"": _Place(known, start.step, 0, 1.0)}
    while waiting:
        beyond, _, outcomes = heapq.heappop(waiting)
        if beyond and len(table) >= most_rows:
            break
        place = places.pop(outcomes)
        decision = table[outcomes] = _judge(behaviour, place, start)
        for letter, after in _next_places(behaviour, place, decision, start):
            key = outcomes + letter
            places[key] = after
            heapq.heappush(waiting, (after.n_trials > whole, -after.p, key))
    return table


def _judge(behaviour: Behaviour, place: _Place, start: Start) -> Decision:
    now = start.now + place.n_trials * BETWEEN_TRIALS
    advice = judge_run(behaviour, place.step, place.known, now=now, target=start.target, days_left=start.days_left)
    step = behaviour.steps[advice.step].key
    return Decision(advice.action, step, advice.reason, advice.reading, advice.enough, advice.dimension)


def _next_places(behaviour: Behaviour, place: _Place, decision: Decision, start: Start) -> Iterator[tuple[str, _Place]]:
    """Yield what may come next; nothing after the last try of a session or a pause."""
    if decision.action is Action.PAUSE:
        return
    stays = place.p
    if decision.step != place.step:
        yield FOLLOWED, replace(place, step=decision.step, p=place.p * P_FOLLOWED)
        stays = place.p * (1.0 - P_FOLLOWED)
    if place.n_trials == MAX_SESSION_TRIALS:
        return
    p_met = decision.reading.mean
    shares = {"m": p_met, "x": (1.0 - p_met) * (1.0 - P_HELPED), "h": (1.0 - p_met) * P_HELPED}
    for letter, share in shares.items():
        trial = _trial(behaviour, start, place.step, place.n_trials + 1, letter)
        yield letter, _Place(place.known.with_trial(trial), place.step, place.n_trials + 1, stays * share)


def _trial(behaviour: Behaviour, start: Start, step: str, n: int, letter: str) -> Trial:
    return Trial(
        event_id=f"{n}{letter}",
        session_id=start.session_id,
        at=start.now + n * BETWEEN_TRIALS,
        behaviour=behaviour.key,
        step=step,
        outcome=OUTCOMES[letter],
        kind=SessionKind.TRAINING,
    )


def trials_of(behaviour: Behaviour, start: Start, outcomes: str, table: Mapping[str, Decision]) -> list[Trial]:
    """Return the trials that a string of a table stands for, as they would be written."""
    step, found = start.step, list[Trial]()
    for i, letter in enumerate(outcomes):
        if letter == FOLLOWED:
            step = table[outcomes[:i]].step
            continue
        found.append(_trial(behaviour, start, step, len(found) + 1, letter))
    return found
