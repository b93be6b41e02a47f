"""How hard a step is, in logits: from its criterion, along the dimensions that a trainer changes one at a time.

The weights are prior means: plausible guesses set so that the household level of the catalogue's behaviours lies about
three to four logits above their first step. A trainer's own record moves the dog's skill, not these weights.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from math import log2

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour, Criterion, Place, Prompt, Step
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.posterior.learners import Floats

DURATION_UNIT_S = 1.0
DISTANCE_UNIT_M = 1.0
PER_DOUBLING_OF_DURATION = 0.35
PER_DOUBLING_OF_DISTANCE = 0.40
PER_DISTRACTION = 0.35
PER_HALVING_OF_LATENCY = 0.30
LATENCY_UNIT_S = 8.0
PER_STEP = 0.15
"""What a later step asks for beyond its figures: its words differ where the figures do not."""

MOST = 4.2
"""No step of a list lies further above its first one: practice leads to 2.2 logits above a step, and skill ends at
6.5 (`learners.SKILL_TOP`)."""

PLACES = {
    Place.QUIET_ROOM: 0.0,
    Place.HOME: 0.3,
    Place.GARDEN: 0.6,
    Place.QUIET_STREET: 0.9,
    Place.BUSY_PLACE: 1.3,
    Place.NEW_PLACE: 1.5,
}
PROMPTS = {Prompt.LURE: 0.0, Prompt.TARGET: 0.2, Prompt.GESTURE: 0.4, Prompt.CUE: 0.8, Prompt.NONE: 1.1}


class Dimension(StrEnum):
    """What can be changed in a criterion, one at a time. Stored values are fixed for good."""

    DURATION = "duration"
    DISTANCE = "distance"
    DISTRACTION = "distraction"
    PLACE = "place"
    PROMPT = "prompt"
    LATENCY = "latency"


@dataclass(frozen=True)
class Ladder:
    """The difficulties of a behaviour's steps, the first at 0; `delta` has one entry a step, in logits.

    scale is below 1 where the list would reach beyond MOST and has been drawn together.
    """

    keys: tuple[str, ...]
    delta: Floats
    durations_s: Floats
    scale: float = 1.0

    def index(self, step: str) -> int | None:
        """Return the place of a step, or None when the catalogue has it no longer."""
        return self.keys.index(step) if step in self.keys else None

    def at_duration(self, index: int, duration_s: float) -> float:
        """Return the difficulty of a step when this duration is asked for instead of its own."""
        own_s = float(self.durations_s[index])
        return float(self.delta[index]) + self.scale * (duration_logits(duration_s) - duration_logits(own_s))


def duration_logits(duration_s: float) -> float:
    """Return 0.35 logits for every doubling of (1 + seconds)."""
    return PER_DOUBLING_OF_DURATION * log2(1.0 + duration_s / DURATION_UNIT_S)


def dimension_logits(criterion: Criterion) -> dict[Dimension, float]:
    """Return the logits that each dimension adds; each grows with what is asked for and none is below 0.

    Model: 0.35 log2(1 + s), 0.40 log2(1 + m), 0.35 a degree of distraction, 0.30 a halving of the latency allowed
    below 8 s, and fixed figures for place and prompt.
    Raises: InvalidInput for a duration, distance or latency that is no figure of 0 or more.
    """
    _require_figures(criterion)
    latency = 0.0
    if criterion.latency_s is not None:
        latency = PER_HALVING_OF_LATENCY * log2(max(1.0, LATENCY_UNIT_S / max(0.1, criterion.latency_s)))
    return {
        Dimension.DURATION: duration_logits(criterion.duration_s),
        Dimension.DISTANCE: PER_DOUBLING_OF_DISTANCE * log2(1.0 + criterion.distance_m / DISTANCE_UNIT_M),
        Dimension.DISTRACTION: PER_DISTRACTION * criterion.distraction,
        Dimension.PLACE: PLACES[criterion.place],
        Dimension.PROMPT: PROMPTS[criterion.prompt],
        Dimension.LATENCY: latency,
    }


def difficulty(criterion: Criterion) -> float:
    """Return the logits of a criterion: the sum over its dimensions, 0 or more. See `dimension_logits`."""
    return sum(dimension_logits(criterion).values())


@lru_cache(maxsize=256)
def _ladder_of(steps: tuple[Step, ...]) -> Ladder:
    raw = np.array([difficulty(step.criterion) + PER_STEP * i for i, step in enumerate(steps)])
    delta = raw - raw[0]
    scale = min(1.0, MOST / max(1e-9, float(delta.max())))
    durations_s = np.array([step.criterion.duration_s for step in steps])
    return Ladder(tuple(step.key for step in steps), delta * scale, durations_s, scale)


def ladder_of(behaviour: Behaviour) -> Ladder:
    """Return the difficulties of a behaviour's steps relative to its first one; the hardest is at most 4.2."""
    return _ladder_of(behaviour.steps)


def eased(before: Criterion, after: Criterion) -> tuple[Dimension, ...]:
    """Return the dimensions that ask for less than before: a step list may ease some while it raises another."""
    was, now = dimension_logits(before), dimension_logits(after)
    return tuple(dimension for dimension in Dimension if now[dimension] < was[dimension])


def raised(before: Criterion, after: Criterion) -> tuple[Dimension, ...]:
    """Return the dimensions that ask for more than before."""
    return eased(after, before)


def _require_figures(criterion: Criterion) -> None:
    given = {
        "duration_s": criterion.duration_s,
        "distance_m": criterion.distance_m,
        "latency_s": criterion.latency_s if criterion.latency_s is not None else 1.0,
    }
    problems = [
        Problem(name, "{figure} cannot be the {name} of a step; give 0 or more.", figure=figure, name=name)
        for name, figure in given.items()
        if not 0.0 <= figure < float("inf")
    ]
    if problems:
        raise InvalidInput(problems)
