"""Raise, keep or lower, by what five more trials at each step would be worth for the goal.

Value alone would follow every streak, so a raise has to pass a gate (the sequential test, or a record that makes the
grid all but certain), and nothing is advised whose predicted success leaves the band that keeps the pup willing.
Every choice comes with one sentence of reason. When to stop a session is not asked here: see `welfare`.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training import grid as grids
from pupilage.core.training import learners
from pupilage.core.training.difficulty import Dimension, dimension_logits
from pupilage.core.training.learners import BLOCK_TRIALS
from pupilage.core.training.reading import Reading, read_step
from pupilage.core.training.sequential import LOWER, P_TOO_HARD, UPPER, after_trial, log_ratio, n_met_until_sure
from pupilage.core.training.state import Now
from pupilage.core.words import Sentence, sentence

MIN_TRIALS = 5
MISSES_IN_A_ROW = 3

FULL_HOLDS_TO_RAISE = 3
"""Holds that must have lasted the step's own duration: eight short ones say little about a long one."""

LEAST_P = 0.55
MOST_P = 0.95
"""The band of predicted success: below it the pup loses heart, above it time is lost (common practice)."""

P_KNOWN = 0.75
SURE = 0.95
"""Where the grid is as sure as this that a step is met three times in four or more, as on coming back to one long
known, the run need not prove it again: MIN_KNOWN tries there are enough."""

MIN_KNOWN = 2

SURE_LOWER = 0.85
MARGIN = 0.01
"""Logits per five trials by which another step must teach more before it is worth a change."""


class Action(StrEnum):
    """What to do with the criterion. Stored values are fixed for good."""

    RAISE = "raise"
    KEEP = "keep"
    LOWER = "lower"
    PAUSE = "pause"


@dataclass(frozen=True)
class Choice:
    """Five more trials at a step: the predicted share met, and the logits they bring towards the goal."""

    step: int
    p: float
    gain: float


@dataclass(frozen=True)
class Counts:
    """The current run at the step: trials met, missed, helped, the misses at its end, the sequential test's ratio.

    n_short: holds met that were not asked for the step's own duration.
    """

    n_met: int = 0
    n_missed: int = 0
    n_helped: int = 0
    misses_in_a_row: int = 0
    n_short: int = 0
    log_ratio: float = 0.0

    @property
    def n(self) -> int:
        return self.n_met + self.n_missed + self.n_helped

    def after(self, outcome: str) -> "Counts":
        """Return the counts after one more trial: m met, s met but short of the step's duration, x missed, h helped.

        A helped trial ends a row of misses, for the dog was paid.
        """
        met = outcome in ("m", "s")
        return Counts(
            self.n_met + met,
            self.n_missed + (outcome == "x"),
            self.n_helped + (outcome == "h"),
            self.misses_in_a_row + 1 if outcome == "x" else 0,
            self.n_short + (outcome == "s"),
            after_trial(self.log_ratio, met=met),
        )


def count(outcomes: Iterable[str]) -> Counts:
    """Return the counts after these trials, one letter each (see `Counts.after`)."""
    letters = "".join(outcomes)
    ratio = 0.0
    for letter in letters:
        ratio = after_trial(ratio, met=letter in "ms")
    n_short, n_missed = letters.count("s"), letters.count("x")
    return Counts(
        n_met=letters.count("m") + n_short,
        n_missed=n_missed,
        n_helped=letters.count("h"),
        misses_in_a_row=len(letters) - len(letters.rstrip("x")),
        n_short=n_short,
        log_ratio=ratio,
    )


@dataclass(frozen=True)
class Advice:
    """What to do with the criterion: `step` (0-based) to practise next, and why.

    dimension: what the next step asks more of (raise) or what going back eases (lower), None otherwise.
    enough: False while the trials at the step are too few to say.
    """

    action: Action
    step: int
    reason: Sentence
    reading: Reading
    enough: bool
    dimension: Dimension | None = None


def judge_counts(n_met: int, n_not_met: int, misses_in_a_row: int) -> Action | None:
    """Return what the counts of a run say by themselves, None while they carry neither: the gate in front of a raise.

    Model: `sequential.log_ratio` at its limits, and lower at 3 misses in a row.
    At a true 0.60 it raises in 8 % of runs, at 0.85 in 93 %; checked in tests/external/test_decision_rule.py.
    """
    ratio = log_ratio(n_met, n_not_met)
    if misses_in_a_row >= MISSES_IN_A_ROW or ratio <= LOWER:
        return Action.LOWER
    return Action.RAISE if ratio >= UPPER else None


def weigh(now: Now, step: int, target: int) -> Choice:
    """Return what five trials at a step are worth for the goal at `target` (both 0-based).

    Model: E over forms, models and cells of the gain in skill, counted up to 2.2 logits above the goal (more is no
    use for it); for the family by levels, the chance of mastering a level at or before the goal times the logits that
    a level spans on average.
    """
    delta = float(now.ladder.delta[step])
    weight, mastery = now.joint
    cells, prior = now.grid.cells, now.grid.prior
    p = grids.p_by_skill(now.grid, delta, now.tired)
    p_level = grids.p_by_mastery(now.grid, step, now.tired)
    by_level = mastery.sum((1, 2))
    skill = now.grid.skill
    mean_p = (weight * p).sum(0) / np.maximum(weight.sum(0), 1e-300)
    toward = learners.expect_toward_level(skill[:2], cells.rate, delta, BLOCK_TRIALS, mean_p[:2], prior.base)
    by_hits = learners.expect_per_success(skill[2:], cells.rate, delta, BLOCK_TRIALS, mean_p[2:], prior.base)
    most = float(now.ladder.delta[target]) + learners.ASYMPTOTE
    useful = np.minimum(np.concatenate((toward, by_hits)), most) - np.minimum(skill, most)
    gain = float((weight.sum(0) * useful).sum())
    if step <= target:
        span = max(0.3, float(now.ladder.delta[target]) / max(1, target))
        at_step = mastery.sum((0, 1))[:, step]
        gain += span * float((at_step * learners.p_step_up(cells.level_rate, BLOCK_TRIALS)).sum())
    return Choice(step, float((weight * p).sum() + (by_level * p_level).sum()), gain)


def advise(behaviour: Behaviour, step: int, now: Now, counts: Counts, *, target: int | None = None) -> Advice:
    """Return the advice after the last trial at a step (0-based), from the grid and the run's counts.

    Model: lower at 3 misses in a row, or when success is predicted below 0.55 and either the sequential test or the
    grid (0.85 sure) says that the step is met less than six times in ten. Raise when the next step is predicted at
    0.55 or more, teaches more than this one (or this one is met 95 times in 100), and the gate is passed: sequential
    test at its upper limit, or the grid 0.95 sure of 0.75. Otherwise keep.
    At a true, unchanging 0.60 it raises in 11 of 100 runs, the sequential test alone in 9 (docs/science/decision.md).
    Checked by simulation and enumeration in tests/unit/training/test_advice.py.
    """
    goal = _goal(behaviour) if target is None else target
    reading = read_step(now, step, counts=(counts.n_met, counts.n_missed, counts.n_helped))
    here = weigh(now, step, goal)
    if _is_too_hard(here, reading, counts):
        return _lower(behaviour, step, reading, counts)
    if counts.n < MIN_TRIALS and not _is_known(reading, counts):
        reason = sentence("Not enough yet: has {n} of {need} trials at this step.", n=counts.n, need=MIN_TRIALS)
        return Advice(Action.KEEP, step, reason, reading, enough=False)
    if step + 1 == len(behaviour.steps):
        return _last(step, reading, counts)
    return _raise_or_keep(behaviour, here, weigh(now, step + 1, goal), reading, counts)


def _goal(behaviour: Behaviour) -> int:
    return behaviour.step_index(behaviour.target) or 0


def _is_known(reading: Reading, counts: Counts) -> bool:
    return counts.n >= MIN_KNOWN and counts.misses_in_a_row == 0 and reading.p_at_least(P_KNOWN) >= SURE


def _is_too_hard(here: Choice, reading: Reading, counts: Counts) -> bool:
    if counts.misses_in_a_row >= MISSES_IN_A_ROW:
        return True
    if here.p >= LEAST_P or counts.n == 0:
        return False
    says_no = counts.log_ratio <= LOWER
    return says_no or (counts.n >= MIN_TRIALS and 1.0 - reading.p_at_least(P_TOO_HARD) >= SURE_LOWER)


def _raise_or_keep(behaviour: Behaviour, here: Choice, after: Choice, reading: Reading, counts: Counts) -> Advice:
    worth_it = here.p > MOST_P or after.gain > here.gain + MARGIN
    sure = counts.log_ratio >= UPPER or _is_known(reading, counts)
    n_full = counts.n_met - counts.n_short
    if counts.log_ratio <= LOWER:
        reason = sentence("{met} of {n} met, and the newest better: stay here.", met=counts.n_met, n=counts.n)
    elif after.p < LEAST_P:
        reason = sentence(
            "{met} of {n} met here; the next step would be met only about {p:.0%} of the time: stay here.",
            met=counts.n_met,
            n=counts.n,
            p=after.p,
        )
    elif not worth_it:
        reason = sentence("{met} of {n} met: five more tries here teach most.", met=counts.n_met, n=counts.n)
    elif not sure:
        reason = _until_sure(counts)
    elif counts.n_short and n_full < FULL_HOLDS_TO_RAISE:
        reason = sentence(
            "{met} of {n} met, but the full duration only {full} of {need} times: stay here, ask for longer.",
            met=counts.n_met,
            n=counts.n,
            full=n_full,
            need=FULL_HOLDS_TO_RAISE,
        )
    else:
        return _raise(behaviour, after, reading, counts)
    return Advice(Action.KEEP, here.step, reason, reading, enough=True)


def _until_sure(counts: Counts) -> Sentence:
    more = n_met_until_sure(counts.log_ratio)
    if more == 1:
        return sentence("{met} of {n} met: stay here, one more met and it can be raised.", met=counts.n_met, n=counts.n)
    return sentence(
        "{met} of {n} met: stay here, at most {more} more met in a row and it can be raised.",
        met=counts.n_met,
        n=counts.n,
        more=more,
    )


def _raise(behaviour: Behaviour, after: Choice, reading: Reading, counts: Counts) -> Advice:
    reason = sentence(
        "{met} of {n} met, and the next step should be met about {p:.0%} of the time: raise.",
        met=counts.n_met,
        n=counts.n,
        p=after.p,
    )
    dimension = main_dimension(behaviour, after.step - 1, after.step)
    return Advice(Action.RAISE, after.step, reason, reading, enough=True, dimension=dimension)


def _lower(behaviour: Behaviour, step: int, reading: Reading, counts: Counts) -> Advice:
    if step == 0:
        reason = sentence(
            "{met} of {n} met at the first step: stop here, and begin again with more help or in a calmer place.",
            met=counts.n_met,
            n=counts.n,
        )
        return Advice(Action.PAUSE, 0, reason, reading, enough=True)
    if counts.misses_in_a_row >= MISSES_IN_A_ROW:
        reason = sentence("{n} misses in a row: too hard for now, go back a step.", n=counts.misses_in_a_row)
    else:
        reason = sentence("{met} of {n} met: too hard for now, go back a step.", met=counts.n_met, n=counts.n)
    dimension = main_dimension(behaviour, step - 1, step)
    return Advice(Action.LOWER, step - 1, reason, reading, enough=True, dimension=dimension)


def _last(step: int, reading: Reading, counts: Counts) -> Advice:
    reason = sentence("{met} of {n} met at the last step: at the goal, keep it fresh.", met=counts.n_met, n=counts.n)
    return Advice(Action.KEEP, step, reason, reading, enough=True)


def main_dimension(behaviour: Behaviour, easier: int, harder: int) -> Dimension | None:
    """Return the dimension that rises most from one step to another, None when no figure rises."""
    was = dimension_logits(behaviour.steps[easier].criterion)
    then = dimension_logits(behaviour.steps[harder].criterion)
    rises = {dimension: then[dimension] - was[dimension] for dimension in Dimension}
    most = max(rises, key=lambda dimension: rises[dimension])
    return most if rises[most] > 0.0 else None
