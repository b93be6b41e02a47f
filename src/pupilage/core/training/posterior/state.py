"""What a dog's whole record lets us know: one grid a behaviour, and one weight a kind of learner for the dog.

`fold` takes trials in time order. Folding in two goes is folding in one: the block in progress is kept open, and its
evidence counted when it is read. The log stays the truth; a state is a cache of it.
Latencies are counted when their day is over, by going through its blocks again: during a day a decision follows from
the outcomes alone, as the phone's table needs.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, tzinfo
from operator import attrgetter

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day, require_aware
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior.difficulty import Ladder, ladder_of
from pupilage.core.training.posterior.grid import Block, Grid
from pupilage.core.training.posterior.learners import BLOCK_TRIALS, FORM_WEIGHTS, Floats, tiredness
from pupilage.core.training.posterior.prior import MODELS, Prior, shipped_prior
from pupilage.core.training.posterior.starts import Timing, fresh_timing, weigh_starts
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.record.history import require_history

LETTERS = {Outcome.MET: "m", Outcome.MISSED: "x", Outcome.HELPED: "h"}

LOG_FORM_WEIGHTS = np.log(FORM_WEIGHTS)[:, None]


@dataclass(frozen=True)
class OpenBlock:
    """The block in progress: `key` tells whether the next trial belongs to it."""

    behaviour: str
    key: tuple[object, ...]
    block: Block


@dataclass
class DogState:
    """The posterior of one dog. Treat it as a value: `fold` returns a new one.

    log_models (6,): log weight of each model from all ended days; last_day: the local day on which each behaviour
    was last tried; sessions: ids of today's sessions in order, with their behaviours; blocks: blocks begun in each;
    today: today's closed blocks in order, with their behaviours; dawn: the state before the first trial of `day`;
    timings: what is believed of each behaviour's starts, from all ended days.
    """

    prior: Prior
    zone: tzinfo
    ladders: dict[str, Ladder]
    grids: dict[str, Grid] = field(default_factory=dict)
    log_models: Floats = field(default_factory=lambda: np.zeros(len(MODELS)))
    day: date | None = None
    last_day: dict[str, date] = field(default_factory=dict)
    sessions: dict[str, str] = field(default_factory=dict)
    blocks: dict[str, int] = field(default_factory=dict)
    open: OpenBlock | None = None
    newest: datetime | None = None
    n_trials: int = 0
    dawn: "DogState | None" = None
    today: tuple[tuple[str, Block], ...] = ()
    timings: dict[str, Timing] = field(default_factory=dict)
    over: "DogState | None" = field(default=None, compare=False, repr=False)
    """The state when its day is over, once it was asked for (`arrive`); a copy, which goes its own way, has none."""

    def copy(self) -> "DogState":
        """Return a state that can go its own way."""
        return replace(
            self,
            grids={key: grid.copy() for key, grid in self.grids.items()},
            last_day=dict(self.last_day),
            sessions=dict(self.sessions),
            blocks=dict(self.blocks),
            timings=dict(self.timings),
            over=None,
        )


def fresh_state(behaviours: Iterable[Behaviour], *, prior: Prior | None = None, zone: tzinfo = UTC) -> DogState:
    """Return the state of a dog without a record. zone: where its days begin and end."""
    chosen = shipped_prior() if prior is None else prior
    ladders = {behaviour.key: ladder_of(behaviour) for behaviour in behaviours}
    return DogState(chosen, zone, ladders, log_models=np.log(np.maximum(chosen.models, 1e-12)))


def fold_dog(
    behaviours: Mapping[str, Behaviour], trials: Iterable[Trial], *, prior: Prior | None = None, zone: tzinfo = UTC
) -> DogState:
    """Return the state after all trials of one dog, in whatever order they are given.

    Trials of behaviours and steps that the catalogue no longer has are passed over.
    Raises: InvalidInput as `history.require_history`.
    """
    return fold(fresh_state(behaviours.values(), prior=prior, zone=zone), in_time(behaviours, trials))


def in_time(behaviours: Mapping[str, Behaviour], trials: Iterable[Trial]) -> list[Trial]:
    """Return a dog's trials in time order; those of behaviours that the catalogue no longer has are kept.

    Raises: InvalidInput as `history.require_history`.
    """
    own: dict[str, list[Trial]] = {}
    for trial in trials:
        own.setdefault(trial.behaviour, []).append(trial)
    for key, given in own.items():
        if key in behaviours:
            require_history(behaviours[key], given)
        else:
            _ = [require_aware(trial.at) for trial in given]
    return sorted((trial for given in own.values() for trial in given), key=attrgetter("at"))


def fold(state: DogState, trials: Sequence[Trial]) -> DogState:
    """Return the state after more trials, all at or after the newest one folded.

    Raises: InvalidInput for a trial older than that (fold the whole log again), or an instant without a zone.
    """
    after = state.copy()
    for trial in trials:
        _take(after, trial)
    return after


def _take(state: DogState, trial: Trial) -> None:
    ladder = state.ladders.get(trial.behaviour)
    step = None if ladder is None else ladder.index(trial.step)
    if ladder is None or step is None:
        return
    if state.newest is not None and require_aware(trial.at) < state.newest:
        raise InvalidInput.of(
            "trials", "Trial {id} is older than the newest one folded; fold the whole log again.", id=trial.event_id
        )
    evidence = _evidence(ladder, step, trial)
    if evidence is None:
        return
    state.newest = trial.at
    day = local_day(trial.at, state.zone)
    if day != state.day:
        _begin_day(state, day)
    state.n_trials += 1
    _add(state, trial, evidence)


def _evidence(ladder: Ladder, step: int, trial: Trial) -> Block | None:
    """Return the trial as a block of its own, not yet tired; None where it says nothing."""
    if trial.hold is not None:
        return _hold_evidence(ladder, step, trial)
    if trial.outcome is Outcome.VOID:
        return None
    return _lesson(step, float(ladder.delta[step]), trial)


def _lesson(level: int, delta: float, trial: Trial, broke: tuple[float, float] | None = None) -> Block:
    """Return the block of one trial: a probe teaches nothing, and help makes it a miss."""
    letter = LETTERS[trial.outcome]
    if trial.kind is SessionKind.PROBE:
        return Block(level, delta, probed="m" if letter == "m" else "x", broke=broke)
    seconds = trial.latency_s if letter == "m" and trial.hold is None else None
    timed = seconds is not None and 0.0 < seconds < math.inf
    return Block(level, delta, taught=letter, broke=broke, log_s=(math.log(seconds),) if seconds and timed else ())


def _hold_evidence(ladder: Ladder, step: int, trial: Trial) -> Block:
    """Return what a timed try says: a break lies in a third of the way to its target, a release is a censored time."""
    hold = trial.hold
    assert hold is not None  # noqa: S101  asked by the caller
    delta = ladder.at_duration(step, hold.target_s)
    if trial.outcome is Outcome.VOID:
        held = ladder.at_duration(step, hold.held_s)
        return Block(_level_at(ladder, step, held), held, probed="m")
    broke = None
    if hold.broke and trial.outcome is Outcome.MISSED:
        broke = _third(ladder, step, hold.held_s, delta)
    return _lesson(_level_at(ladder, step, delta), delta, trial, broke)


def _third(ladder: Ladder, step: int, held_s: float, delta: float) -> tuple[float, float]:
    start = ladder.at_duration(step, 0.0)
    width = (delta - start) / grids.BREAK_BINS
    if width <= 0.0:
        return (-np.inf, delta)
    third = min(grids.BREAK_BINS - 1, int((ladder.at_duration(step, held_s) - start) / width))
    first = -np.inf if third == 0 else start + third * width
    return (first, start + (third + 1) * width)


def _level_at(ladder: Ladder, step: int, delta: float) -> int:
    """Return the first step at least as hard as this, not beyond the one in practice."""
    return next((i for i in range(step) if ladder.delta[i] >= delta - 1e-9), step)


def _add(state: DogState, trial: Trial, evidence: Block) -> None:
    key = (trial.session_id, trial.behaviour, trial.step, trial.kind, evidence.delta, evidence.level, evidence.broke)
    now_open = state.open
    grows = now_open is not None and now_open.key == key and evidence.broke is None
    if now_open is not None and grows and now_open.block.n < BLOCK_TRIALS:
        state.open = OpenBlock(now_open.behaviour, key, _join(now_open.block, evidence))
        return
    _close_block(state)
    if trial.session_id not in state.sessions:
        state.sessions[trial.session_id] = trial.behaviour
    tired = _tired(state, trial)
    state.blocks[trial.session_id] = state.blocks.get(trial.session_id, 0) + 1
    state.open = OpenBlock(trial.behaviour, key, replace(evidence, tired=tired))


def _tired(state: DogState, trial: Trial) -> float:
    order = list(state.sessions)
    earlier = order[: order.index(trial.session_id)]
    same = sum(state.sessions[session] == trial.behaviour for session in earlier)
    return tiredness(state.blocks.get(trial.session_id, 0), same, len(earlier))


def _join(block: Block, more: Block) -> Block:
    taught, probed = block.taught + more.taught, block.probed + more.probed
    return Block(block.level, block.delta, block.tired, taught, probed, log_s=block.log_s + more.log_s)


def _grid(state: DogState, behaviour: str, day: date | None) -> Grid:
    """Return the behaviour's grid, rested until this day."""
    found = state.grids.get(behaviour)
    if found is None:
        found = state.grids[behaviour] = grids.fresh_grid(state.prior, len(state.ladders[behaviour].keys))
    last = state.last_day.get(behaviour)
    if last is not None and day is not None and day > last:
        grids.rest(found, (day - last).days)
        state.last_day[behaviour] = day
    return found


def _close_block(state: DogState) -> None:
    if state.open is None:
        return
    behaviour, block = state.open.behaviour, state.open.block
    grid = _grid(state, behaviour, state.day)
    grids.observe(grid, block)
    grids.teach(grid, block)
    if state.day is not None:
        state.last_day[behaviour] = state.day
    state.today = (*state.today, (behaviour, block))
    state.open = None


def _count_latencies(state: DogState) -> None:
    """Go through the day's blocks again, from its dawn, with the latencies of their starts as evidence."""
    dawn = state.dawn
    if dawn is None or not any(block.log_s for _, block in state.today):
        return
    again = dawn.copy()
    for behaviour, block in state.today:
        grid = _grid(again, behaviour, state.day)
        starts = None
        if block.log_s:
            timing = again.timings.get(behaviour, fresh_timing())
            starts, again.timings[behaviour] = weigh_starts(grid, block, timing, again.log_models)
        grids.observe(grid, block, starts)
        grids.teach(grid, block)
        if state.day is not None:
            again.last_day[behaviour] = state.day
    state.grids, state.timings = again.grids, again.timings


def day_evidence(state: DogState) -> Floats:
    """Return the log evidence (3, 6) of today's closed blocks by form and model, all behaviours together."""
    total: Floats = LOG_FORM_WEIGHTS + sum(grid.log_evidence for grid in state.grids.values())
    return total if total.ndim == 2 and total.shape[1] == len(MODELS) else np.tile(LOG_FORM_WEIGHTS, len(MODELS))


def _begin_day(state: DogState, day: date) -> None:
    _end_day(state)
    _wake(state, day)


def _end_day(state: DogState) -> None:
    _close_block(state)
    _count_latencies(state)
    evidence = day_evidence(state)
    highest = evidence.max(0)
    forms = np.exp(evidence - highest)
    total = forms.sum(0)
    for key, grid in state.grids.items():
        if state.last_day.get(key) == state.day:
            grids.end_day(grid, forms / total)
    state.log_models = _normal(state.log_models + highest + np.log(total) if state.grids else state.log_models)
    state.sessions, state.blocks, state.today = {}, {}, ()
    state.dawn = None


def _wake(state: DogState, day: date) -> None:
    state.day = day
    state.dawn = state.copy()


def _normal(log_weights: Floats) -> Floats:
    """Return log weights whose largest is 0, none below -60: a model is never beyond recall."""
    return np.asarray(np.maximum(log_weights - log_weights.max(), -60.0))


@dataclass(frozen=True)
class Now:
    """One behaviour of a dog at this moment, the block in progress counted and taught.

    models (6,) and forms (3, 6): the weights that go with the grid.
    """

    grid: Grid
    ladder: Ladder
    models: Floats
    forms: Floats
    tired: float

    @property
    def joint(self) -> tuple[Floats, Floats]:
        """Return the joint weights of skill cells (3, 4, C) and of masteries (3, 2, R, L + 1); they add up to 1."""
        weights = self.forms * self.models
        n = grids.N_SKILL_MODELS
        return weights[:, :n, None] * self.grid.weight, weights[:, n:, None, None] * self.grid.mastery


def arrive(state: DogState, now: datetime) -> DogState:
    """Return the state on the day of `now`: earlier days are over, nothing else has changed.

    The end of the day is worked out once for a state, however many later days are asked for.
    """
    day = local_day(now, state.zone)
    if state.day is None or day <= state.day:
        return state
    over = state.over
    if over is None:
        over = state.copy()
        _end_day(over)
        state.over = over  # only when it is whole: others may read at the same time
    after = over.copy()
    _wake(after, day)
    return after


def at_moment(state: DogState, behaviour: str, *, now: datetime) -> Now:
    """Return what is believed of a behaviour at `now`, which is at or after the newest trial.

    Raises: InvalidInput for a behaviour that the state does not know.
    """
    ladder = state.ladders.get(behaviour)
    if ladder is None:
        raise InvalidInput.of("behaviour", "“{key}” is not known to this state.", key=behaviour)
    after = arrive(state, now).copy()
    tired = 0.0
    day = local_day(now, state.zone)
    if after.open is not None:
        tired = after.open.block.tired
        _close_block(after)
    evidence = day_evidence(after)
    highest = evidence.max(0)
    forms = np.exp(evidence - highest)
    log_models = after.log_models + (highest + np.log(forms.sum(0)) if after.grids else 0.0)
    models = np.exp(_normal(log_models))
    return Now(_grid(after, behaviour, day), ladder, models / models.sum(), forms / forms.sum(0), tired)
