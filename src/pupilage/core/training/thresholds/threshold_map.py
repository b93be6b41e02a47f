"""How long, how far, how distracting and where: what this dog can bear at a step, one dimension at a time.

What the record cannot carry is not told: a dimension that was never varied keeps what we assumed, and says so.
"""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.training.criterion.advice import MIN_TRIALS
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.learners import GUESS, LAPSE, sigmoid
from pupilage.core.training.posterior.reading import Reading
from pupilage.core.training.record.history import require_step
from pupilage.core.training.thresholds.chances import SPAN, quantiles, read_criterion
from pupilage.core.training.thresholds.extents import DimensionReading, is_changed, read_dimension
from pupilage.core.training.thresholds.information import NextTry, next_try
from pupilage.core.training.thresholds.ruler import WEIGHED
from pupilage.core.training.thresholds.weighing import Weighed, weigh
from pupilage.core.words import Sentence, sentence

P_TRAINED = 0.85
"""A step counts as trained when it is met so often: what then is the chance at the household level?"""


@dataclass(frozen=True)
class HouseholdChance:
    """The chance at the household level once a step is met 85 times in 100, with its 90 % interval."""

    step: str
    p: float
    low: float
    high: float


@dataclass(frozen=True)
class ThresholdMap:
    """The map at one step of a behaviour. Without `enough` trials it has no figures, only the reason.

    here, household: the chance of a try at the step, and at the target. unchanged: dimensions that neither the list nor
    the record ever changes, of which there is nothing to tell. by_levels: how sure it is that this dog learns step by
    step, when the record says little of what a dimension costs.
    """

    behaviour: str
    step: str
    target: str
    n_trials: int
    enough: bool
    reason: Sentence
    here: Reading | None = None
    household: Reading | None = None
    dimensions: tuple[DimensionReading, ...] = ()
    unchanged: tuple[Dimension, ...] = ()
    by_levels: float = 0.0
    after_training: tuple[HouseholdChance, ...] = ()
    next_try: NextTry | None = None
    next_reason: Sentence | None = None


def map_thresholds(
    known: Knowledge, behaviour: Behaviour, step: str, *, now: datetime, target: str | None = None
) -> ThresholdMap:
    """Return the threshold map of a behaviour at a step.

    Parameters: target, the key of the household level; by default the catalogue's.
    Model: see `weighing.weigh`; thresholds are quantiles over its cells, other dimensions as at the step, nobody tired.
    Raises: InvalidInput for a step or target that the behaviour does not have, an instant without a zone.
    Assumes: the factors of a dog stay the same over the record; all places are harder in the same proportion.
    Checked in tests/external/test_thresholds.py and tests/unit/training/test_thresholds.py.
    """
    at = behaviour.steps.index(require_step(behaviour, step))
    goal_key = behaviour.target if target is None else target
    goal = behaviour.steps.index(require_step(behaviour, goal_key, "target"))
    key = ("thresholds", behaviour.key, at, goal, local_day(now, known.state.zone))
    return known.keep(key, lambda: _map(weigh(known, behaviour, now=now), at, goal))


def _map(weighed: Weighed, at: int, goal: int) -> ThresholdMap:
    behaviour, n = weighed.ruler.behaviour, weighed.n_trials
    step, goal_key = behaviour.steps[at].key, behaviour.steps[goal].key
    if n < MIN_TRIALS:
        reason = sentence("Not enough yet: has {n} of {need} tries.", n=n, need=MIN_TRIALS)
        return ThresholdMap(behaviour.key, step, goal_key, n, False, reason)
    found, found_reason = next_try(weighed, at)
    changed = [dimension for dimension in WEIGHED if is_changed(weighed, dimension)]
    return ThresholdMap(
        behaviour=behaviour.key,
        step=step,
        target=goal_key,
        n_trials=n,
        enough=True,
        reason=_whole_reason(n, weighed.p_by_levels),
        here=read_criterion(weighed, behaviour.steps[at].criterion, at),
        household=read_criterion(weighed, behaviour.steps[goal].criterion, goal),
        dimensions=tuple(read_dimension(weighed, dimension, at) for dimension in changed),
        unchanged=tuple(dimension for dimension in WEIGHED if dimension not in changed),
        by_levels=weighed.p_by_levels,
        after_training=tuple(chance_after(weighed, k, goal) for k in range(at, len(behaviour.steps))),
        next_try=found,
        next_reason=found_reason,
    )


def chance_after(weighed: Weighed, step: int, goal: int) -> HouseholdChance:
    """Return the chance at the goal's criterion for a dog that meets a step (place in the list) 85 times in 100.

    Model: ability = logit of 0.85 + difficulty of the step, for every point of the factors; a step beyond the goal
    leaves something to spare. Learners by levels are read by difficulty too.
    """
    ruler = weighed.ruler
    steps = ruler.behaviour.steps
    ability = float(np.log((P_TRAINED - GUESS) / (1.0 - LAPSE - P_TRAINED)))
    gap = ruler.delta(weighed.factors, steps[step].criterion, step)
    gap = gap - ruler.delta(weighed.factors, steps[goal].criterion, goal)
    p = GUESS + SPAN * sigmoid(ability + gap)
    weights = weighed.by_point
    low, _, high = quantiles(p, weights)
    return HouseholdChance(steps[step].key, float(p @ weights / weights.sum()), low, high)


def _whole_reason(n: int, p_by_levels: float) -> Sentence:
    if p_by_levels < 0.5:
        return sentence("Read from {n} tries, each line with the rest as at this step.", n=n)
    return sentence(
        "Read from {n} tries, each line with the rest as at this step. This pup seems to learn step by step, so the"
        " figures follow the order of the steps more than what each dimension costs.",
        n=n,
    )
