"""Raise, keep or lower, by what a session at each step would be worth for the goal.

Value alone would follow every streak, so a change asks for five trials at the step, and nothing is advised whose
predicted success leaves the band that keeps the pup willing. Where value does not say, a gate does: the sequential
test, or a record that makes the grid all but certain.
Every choice comes with one sentence of reason. When to stop a session is not asked here: see `welfare`.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training.criterion.sequential import (
    LOWER,
    P_TOO_HARD,
    UPPER,
    after_trial,
    log_ratio,
    n_met_until_sure,
)
from pupilage.core.training.posterior.difficulty import Dimension, dimension_logits
from pupilage.core.training.posterior.learners import Family, Floats
from pupilage.core.training.posterior.prior import MODELS
from pupilage.core.training.posterior.reading import Reading, read_step
from pupilage.core.training.posterior.state import Now
from pupilage.core.words import Sentence, sentence

MIN_TRIALS = 5
MISSES_IN_A_ROW = 3

FULL_HOLDS_TO_RAISE = 3
"""Holds that must have lasted the step's own duration: eight short ones say little about a long one."""

LEAST_P = 0.55
MOST_P = 0.95
"""The band of predicted success: below it the pup loses heart, above it time is lost (common practice)."""

LEAST_P_BY_LEVELS = 0.25
"""The same for a dog that seems to learn level by level: it meets a new level four times in ten until it has it, then
nearly always. A stricter band would never teach it anything (docs/science/decision.md)."""

P_KNOWN = 0.75
SURE = 0.95
"""Where the grid is as sure as this that a step is met three times in four or more, as on coming back to one long
known, the run need not prove it again: MIN_KNOWN tries there are enough."""

MIN_KNOWN = 2

SURE_LOWER = 0.85
MARGIN = 0.0005
CLEARLY_MORE = 0.002
EASE_BELOW = 0.6
"""Chance of the goal that a session at another step must add beyond one here, before it is worth going on, and going
back (from a step met less than EASE_BELOW; set in the simulated worlds, docs/science/decision.md)."""


SAYS = {
    "too_few": sentence("Not enough yet: has {n} of {need} trials at this step."),
    "one_more": sentence("{met} of {n} met: stay here, one more met and it can be raised."),
    "until_sure": sentence("{met} of {n} met: stay here, at most {more} more met in a row and it can be raised."),
    "misses": sentence("{n} misses in a row: too hard for now, go back a step."),
    "too_hard": sentence("{met} of {n} met: too hard for now, go back a step."),
    "first_step": sentence(
        "{met} of {n} met at the first step: stop here, and begin again with more help or in a calmer place."
    ),
    "at_goal": sentence("{met} of {n} met: at the goal, keep it fresh."),
    "short": sentence(
        "{met} of {n} met, but the full duration only {full} of {need} times: stay here, ask for longer."
    ),
}
"""What is said where the counts alone decide; a phone that is on its own says the same."""


class Action(StrEnum):
    """What to do with the criterion. Stored values are fixed for good."""

    RAISE = "raise"
    KEEP = "keep"
    LOWER = "lower"
    PAUSE = "pause"


@dataclass(frozen=True)
class Choice:
    """A session at a step: the predicted share met, and what it adds to the chance of the goal."""

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


def advise(
    behaviour: Behaviour,
    step: int,
    now: Now,
    counts: Counts,
    *,
    values: Floats | None = None,
    goal: int | None = None,
) -> Advice:
    """Return the advice after the last trial at a step (0-based), from the grid and the run's counts.

    Parameters: values (steps,), what a session at each step adds to the chance of the goal (`session_values`); None
    where nobody has said, and then the gates decide alone; goal, the place of the goal's step, the last by default.
    Model: lower at 3 misses in a row, when success is predicted below 0.55 and either the sequential test or the grid
    (0.85 sure) says that the step is met less than six times in ten, or when an easier step is worth clearly more.
    Raise after 5 trials when the next step is predicted at 0.55 or more and is worth more, or when the run proves this
    one: sequential test at its upper limit, or the grid 0.95 sure of 0.75. Otherwise keep.
    How often it raises wrongly stands in docs/science/decision.md; checked by simulation and enumeration in
    tests/unit/training/test_advice.py.
    """
    least_p = least_success(now)
    reading = read_step(now, step, counts=(counts.n_met, counts.n_missed, counts.n_helped))
    here = Choice(step, reading.mean, _value(values, step))
    if _is_too_hard(here, reading, counts, least_p):
        return _lower(behaviour, step, reading, counts)
    if counts.n < MIN_TRIALS and not _is_known(reading, counts):
        reason = SAYS["too_few"].of(n=counts.n, need=MIN_TRIALS)
        return Advice(Action.KEEP, step, reason, reading, enough=False)
    if step > 0 and here.p < EASE_BELOW and _value(values, step - 1) > here.gain + CLEARLY_MORE:
        return _ease(behaviour, step, reading, counts)
    if step + 1 == len(behaviour.steps):
        return _at_goal(step, reading, counts)
    after = Choice(step + 1, read_step(now, step + 1).mean, _value(values, step + 1))
    if goal is not None and step >= goal and after.gain <= here.gain + MARGIN:
        return _at_goal(step, reading, counts)
    return _raise_or_keep(behaviour, here, after, reading, counts, least_p)


def least_success(now: Now) -> float:
    """Return the predicted success below which this dog is not asked for a step, by the likelier way of learning."""
    by_levels = sum(now.models[i] for i, (family, _) in enumerate(MODELS) if family is Family.BY_LEVELS)
    return LEAST_P_BY_LEVELS if by_levels > 0.5 else LEAST_P


def _value(values: Floats | None, step: int) -> float:
    return 0.0 if values is None else float(values[step])


def _is_known(reading: Reading, counts: Counts) -> bool:
    return counts.n >= MIN_KNOWN and counts.misses_in_a_row == 0 and reading.p_at_least(P_KNOWN) >= SURE


def _is_too_hard(here: Choice, reading: Reading, counts: Counts, least_p: float) -> bool:
    if counts.misses_in_a_row >= MISSES_IN_A_ROW:
        return True
    if here.p >= least_p or counts.n == 0:
        return False
    says_no = counts.log_ratio <= LOWER
    return says_no or (counts.n >= MIN_TRIALS and 1.0 - reading.p_at_least(P_TOO_HARD) >= SURE_LOWER)


def _raise_or_keep(
    behaviour: Behaviour, here: Choice, after: Choice, reading: Reading, counts: Counts, least_p: float
) -> Advice:
    gain = after.gain - here.gain
    sure = counts.log_ratio >= UPPER or _is_known(reading, counts)
    n_full = counts.n_met - counts.n_short
    if counts.log_ratio <= LOWER:
        reason = sentence("{met} of {n} met, and the newest better: stay here.", met=counts.n_met, n=counts.n)
    elif after.p < least_p:
        reason = sentence(
            "{met} of {n} met here; the next step would be met only about {p:.0%} of the time: stay here.",
            met=counts.n_met,
            n=counts.n,
            p=after.p,
        )
    elif counts.n_short and n_full < FULL_HOLDS_TO_RAISE and (sure or gain > MARGIN):
        reason = SAYS["short"].of(met=counts.n_met, n=counts.n, full=n_full, need=FULL_HOLDS_TO_RAISE)
    elif gain < -(CLEARLY_MORE if sure else MARGIN) and here.p <= MOST_P:
        reason = sentence(
            "{met} of {n} met: stay here a little longer, it gains more for the goal than the next step would now.",
            met=counts.n_met,
            n=counts.n,
        )
    elif not sure and gain <= MARGIN:
        reason = until_sure(counts)
    else:
        return _raise(behaviour, after, reading, counts, sure=sure)
    return Advice(Action.KEEP, here.step, reason, reading, enough=True)


def until_sure(counts: Counts) -> Sentence:
    """Return how many more met trials would carry a raise, in words."""
    more = n_met_until_sure(counts.log_ratio)
    if more == 1:
        return SAYS["one_more"].of(met=counts.n_met, n=counts.n)
    return SAYS["until_sure"].of(met=counts.n_met, n=counts.n, more=more)


def _raise(behaviour: Behaviour, after: Choice, reading: Reading, counts: Counts, *, sure: bool) -> Advice:
    if after.p < LEAST_P:
        reason = sentence(
            "{met} of {n} met: raise. This pup seems to get a step all at once; expect about {p:.0%} until it does.",
            met=counts.n_met,
            n=counts.n,
            p=after.p,
        )
    elif sure:
        reason = sentence(
            "{met} of {n} met, and the next step should be met about {p:.0%} of the time: raise.",
            met=counts.n_met,
            n=counts.n,
            p=after.p,
        )
    else:
        reason = sentence(
            "{met} of {n} met: raise. The next step should be met about {p:.0%} of the time, and gains more for the"
            " goal.",
            met=counts.n_met,
            n=counts.n,
            p=after.p,
        )
    dimension = main_dimension(behaviour, after.step - 1, after.step)
    return Advice(Action.RAISE, after.step, reason, reading, enough=True, dimension=dimension)


def _ease(behaviour: Behaviour, step: int, reading: Reading, counts: Counts) -> Advice:
    reason = sentence(
        "{met} of {n} met: go back a step for a while, it gains more for the goal just now.",
        met=counts.n_met,
        n=counts.n,
    )
    dimension = main_dimension(behaviour, step - 1, step)
    return Advice(Action.LOWER, step - 1, reason, reading, enough=True, dimension=dimension)


def _lower(behaviour: Behaviour, step: int, reading: Reading, counts: Counts) -> Advice:
    if step == 0:
        reason = SAYS["first_step"].of(met=counts.n_met, n=counts.n)
        return Advice(Action.PAUSE, 0, reason, reading, enough=True)
    if counts.misses_in_a_row >= MISSES_IN_A_ROW:
        reason = SAYS["misses"].of(n=counts.misses_in_a_row)
    else:
        reason = SAYS["too_hard"].of(met=counts.n_met, n=counts.n)
    dimension = main_dimension(behaviour, step - 1, step)
    return Advice(Action.LOWER, step - 1, reason, reading, enough=True, dimension=dimension)


def _at_goal(step: int, reading: Reading, counts: Counts) -> Advice:
    reason = SAYS["at_goal"].of(met=counts.n_met, n=counts.n)
    return Advice(Action.KEEP, step, reason, reading, enough=True)


def main_dimension(behaviour: Behaviour, easier: int, harder: int) -> Dimension | None:
    """Return the dimension that rises most from one step to another, None when no figure rises."""
    was = dimension_logits(behaviour.steps[easier].criterion)
    then = dimension_logits(behaviour.steps[harder].criterion)
    rises = {dimension: then[dimension] - was[dimension] for dimension in Dimension}
    most = max(rises, key=lambda dimension: rises[dimension])
    return most if rises[most] > 0.0 else None
