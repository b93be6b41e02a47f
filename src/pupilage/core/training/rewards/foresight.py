"""What was expected of every try before its session began: the engine's word, unswayed by what then happened.

Judging anything by the tries (a reinforcer, a place, a person) needs what the tries would have been without it, and
the difficulty of the step alone does not tell: the same step is harder for a dog that has just come to it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import groupby

from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import read_duration, read_step
from pupilage.core.training.posterior.state import DogState, Now, at_moment, fold, fresh_state
from pupilage.core.training.record.evidence import Outcome, Trial


@dataclass(frozen=True)
class Foresight:
    """The chance that each try was given: by event id. Void tries and unknown steps have none.

    n_before, before: how many trials lie before the newest session, and the state then, to go on from.
    """

    p: dict[str, float]
    trials: tuple[Trial, ...]
    n_before: int
    before: DogState
    p_before: dict[str, float] = field(repr=False)


def foresee(known: Knowledge, earlier: Foresight | None = None) -> Foresight:
    """Return the chance of every try as it stood before the tries of its session at that step.

    Model: the grid's mean (`reading.read_step`), for a hold at its own target, after all trials before them. What is
    learned within a session is not in it.
    Parameters: earlier, of the same dog and catalogue; it is gone on with where the record still bears it out, and the
    answer is the same.
    """
    ordered = known.trials
    n_before = known.n_before
    state, n = fresh_state(known.behaviours.values(), prior=known.state.prior, zone=known.state.zone), 0
    p: dict[str, float] = {}
    if earlier is not None and earlier.n_before <= n_before and _same_start(earlier, ordered):
        state, n, p = earlier.before, earlier.n_before, dict(earlier.p_before)
    state = _walk(state, ordered[n:n_before], p)
    p_before = dict(p)
    _walk(state, ordered[n_before:], p)
    return Foresight(p, ordered, n_before, state, p_before)


def _same_start(earlier: Foresight, ordered: tuple[Trial, ...]) -> bool:
    return ordered[: earlier.n_before] == earlier.trials[: earlier.n_before]


def _walk(state: DogState, trials: Sequence[Trial], p: dict[str, float]) -> DogState:
    """Fold the trials run by run, writing into `p` what was expected of each. Returns the state after them."""
    for (_, behaviour, step), run in groupby(trials, key=lambda t: (t.session_id, t.behaviour, t.step)):
        tries = list(run)
        ladder = state.ladders.get(behaviour)
        place = None if ladder is None else ladder.index(step)
        if place is not None:
            _expect(at_moment(state, behaviour, now=tries[0].at), place, tries, p)
        state = fold(state, tries)
    return state


def _expect(now: Now, place: int, tries: Sequence[Trial], p: dict[str, float]) -> None:
    """Write what is expected of tries at one step; the same target is asked of the grid once."""
    by_target: dict[float | None, float] = {}
    for trial in tries:
        if trial.outcome is Outcome.VOID:
            continue
        target_s = None if trial.hold is None else trial.hold.target_s
        if target_s not in by_target:
            reading = read_step(now, place) if target_s is None else read_duration(now, place, target_s)
            by_target[target_s] = reading.mean
        p[trial.event_id] = by_target[target_s]
