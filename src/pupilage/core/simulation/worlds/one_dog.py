"""Learners and policies of others, one dog at a time, in the same season: what they must be able to do.

A **learner** is one simulated dog, a **policy** one trainer's way of choosing; any object with the methods below will
do. The season keeps its rules whoever plays: capacity, prerequisites, missed sessions, two sessions a behaviour a day.
docs/how-to/own-policy.md has an example of both. `own_dogs` and `own_policies` put them into a `season.Season`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import nan
from typing import Protocol, runtime_checkable

import numpy as np

from pupilage.core.simulation.worlds.regimes import N_DAYS, N_LEVELS, SPACINGS, Dogs, World


@dataclass(frozen=True)
class Programme:
    """What is asked of one dog, known to its trainer from the first day; one entry a behaviour.

    goals: the step (0-based) at which a cold test meets 8 of 10; spacings: how much harder each step is than the one
    before, in logits; prerequisites: pairs (behaviour, needs).
    """

    goals: tuple[int, ...]
    spacings: tuple[float, ...]
    prerequisites: tuple[tuple[int, int], ...]
    sessions_a_day: int
    n_steps: int = N_LEVELS
    n_days: int = N_DAYS


@dataclass(frozen=True)
class Outcome:
    """One trial: whether it was met, and after how many seconds the dog answered (NaN: not timed, or missed)."""

    met: bool
    latency_s: float = nan


@dataclass(frozen=True)
class Seen:
    """What the trainer sees before a block of five trials. A session has two blocks.

    day, slot: 0-based, slot the session of the day; block 0 or 1; running: the session's behaviour, None in block 0;
    allowed: by behaviour, prerequisites met and not trained twice today; sessions_today: by behaviour.
    """

    day: int
    slot: int
    block: int
    running: int | None
    allowed: tuple[bool, ...]
    sessions_today: tuple[int, ...]


@dataclass(frozen=True)
class Came:
    """What came of a block: its five trials in order; tired: logits that weariness took (0 or less)."""

    day: int
    behaviour: int
    step: int
    outcomes: tuple[Outcome, ...]
    tired: float


@runtime_checkable
class Learner(Protocol):
    """One simulated dog. It may also have `conditions(form, tired)`, told before every block and every test, in logits.

    attempt: one trial; all chance comes from rng, and nothing is learned yet: the cold tests at the end ask it too.
    after_block: five trials are over, and teach what they teach. overnight: so many nights have passed.
    """

    def attempt(self, behaviour: int, step: int, rng: np.random.Generator) -> Outcome: ...

    def after_block(self, behaviour: int, step: int, outcomes: tuple[Outcome, ...]) -> None: ...

    def overnight(self, days: int) -> None: ...


@runtime_checkable
class Policy(Protocol):
    """One trainer's way of choosing. choose: (behaviour, step) for the next block, or None to rest.

    It is asked before each block that takes place; in the second block of a session it must name the same behaviour.
    """

    def choose(self, observation: Seen) -> tuple[int, int] | None: ...

    def observe(self, outcomes: Came) -> None: ...


MakeLearner = Callable[[Programme, np.random.Generator], Learner]
MakePolicy = Callable[[Programme], Policy]


def programmes_of(world: World, dogs: Dogs) -> list[Programme]:
    """Return what is asked of every dog."""
    spacings = np.asarray(SPACINGS)[dogs.spacing_index]
    return [
        Programme(
            tuple(map(int, goals)), tuple(map(float, steps)), world.prerequisites, sessions_a_day=world.regime.capacity
        )
        for goals, steps in zip(dogs.goal, spacings, strict=True)
    ]
