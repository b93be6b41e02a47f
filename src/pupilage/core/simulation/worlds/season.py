"""One season: every day its sessions, each two blocks of five, for all dogs of a world at once.

A **batch policy** is any object with `choose(observation) -> (behaviours, levels)`, both whole numbers (N,), −1 to
rest, and `observe(outcomes)`. It is asked before each block; in the second block of a session it must name the
same behaviour. It may also have `new_day(day)`; a ceiling, which sees what no trainer can, has `attach(kennel)`.
For one dog at a time there is a plainer form: `one_dog`.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from pupilage.core.simulation.worlds import laws
from pupilage.core.simulation.worlds.kennel import Kennel
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import (
    MAX_SESSIONS_A_DAY,
    N_BEHAVIOURS,
    N_DAYS,
    PREREQUISITE_LEVEL,
    Chance,
    Dogs,
    Flags,
    Whole,
    World,
)

REST = -1


@dataclass(frozen=True)
class Observation:
    """What a trainer sees before a block, for N dogs.

    day, slot: 0-based; block: 0 or 1 in the session; running: the session's behaviour (N,), −1 in block 0;
    allowed (N, B): prerequisites met and not trained twice today; happens (N,): False where the session fell away;
    sessions_today (N, B); goal, spacing_index (N, B): the programme.
    """

    day: int
    slot: int
    block: int
    running: Whole
    allowed: Flags
    happens: Flags
    sessions_today: Whole
    goal: Whole
    spacing_index: Whole


@dataclass(frozen=True)
class Outcomes:
    """What came of a block for the dogs in `rows`: n_met of 5, tired in logits; met and latency_s (rows, 5) by trial.

    latency_s is NaN where a trial was missed or answers are not timed.
    """

    day: int
    rows: Whole
    behaviour: Whole
    level: Whole
    n_met: Whole
    latency_s: Array
    tired: Array
    met: Flags


class Pupils(Protocol):
    """The dogs of a season, N at once: `kennel.Kennel`, or `one_dog.OwnKennel` for learners of others."""

    def train(
        self, rows: Whole, behaviour: Whole, level: Whole, *, form: Array, tired: Array
    ) -> tuple[Flags, Array]: ...

    def overnight(self, day: int) -> None: ...

    def goal_chances(self) -> Array: ...


class BatchPolicy(Protocol):
    """See the module."""

    def choose(self, observation: Observation) -> tuple[Whole, Whole]: ...

    def observe(self, outcomes: Outcomes) -> None: ...


@dataclass
class Season:
    """A season under way. `run` plays it to the end; `pupils` are then the dogs on the morning after."""

    world: World
    dogs: Dogs
    chance: Chance
    policy: BatchPolicy
    guests: Pupils | None = None
    """Dogs of others, in the place of the world's own."""
    pupils: Pupils = field(init=False)
    opened: Flags = field(init=False)

    def __post_init__(self) -> None:
        self.pupils = Kennel(self.world, self.dogs, self.chance) if self.guests is None else self.guests
        self.opened = np.ones((self.dogs.n, N_BEHAVIOURS), dtype=bool)
        for waiting, _ in self.world.prerequisites:
            self.opened[:, waiting] = False
        attach = getattr(self.policy, "attach", None)
        if attach is not None:
            attach(self.pupils)

    def run(self, each_day: Callable[["Season", int], None] | None = None) -> Array:
        """Play all days; return the chance (N, B) that each goal is met. `each_day(season, day)` sees every morning."""
        for day in range(N_DAYS):
            if each_day is not None:
                each_day(self, day)
            self._day(day)
            self.pupils.overnight(day)
        return self.pupils.goal_chances()

    def _day(self, day: int) -> None:
        new_day = getattr(self.policy, "new_day", None)
        if new_day is not None:
            new_day(day)
        self.today = np.zeros((self.dogs.n, N_BEHAVIOURS), dtype=np.int64)
        for slot in range(self.world.regime.capacity):
            self._session(day, slot)

    def _session(self, day: int, slot: int) -> None:
        n = self.dogs.n
        earlier = self.today.sum(1)
        running = np.full(n, REST)
        happens = ~self.chance.missed[:, day, slot]
        allowed = self.opened & (self.today < MAX_SESSIONS_A_DAY)
        for block in (0, 1):
            seen = Observation(
                day, slot, block, running, allowed, happens, self.today, self.dogs.goal, self.dogs.spacing_index
            )
            behaviour, level = self.policy.choose(seen)
            running = np.where(happens & (behaviour >= 0), behaviour, REST) if block == 0 else running
            rows = np.flatnonzero(running >= 0)
            self._block(day, block, rows, running[rows], level[rows], earlier[rows])
        trained = np.flatnonzero(running >= 0)
        self.today[trained, running[trained]] += 1

    def _block(self, day: int, block: int, rows: Whole, behaviour: Whole, level: Whole, earlier: Whole) -> None:
        tired = tiredness(block, self.today[rows, behaviour], earlier)
        form = self.chance.form[rows, day]
        met, latency = self.pupils.train(rows, behaviour, level, form=form, tired=tired)
        n_met = met.sum(1)
        self._open(rows, behaviour, level, n_met)
        self.policy.observe(Outcomes(day, rows, behaviour, level, n_met, latency, tired, met))

    def _open(self, rows: Whole, behaviour: Whole, level: Whole, n_met: Whole) -> None:
        shown = (n_met >= 4) & (level >= PREREQUISITE_LEVEL)
        for waiting, needs in self.world.prerequisites:
            self.opened[rows[shown & (behaviour == needs)], waiting] = True


def tiredness(block: int, same_today: Whole, earlier_today: Whole) -> Array:
    """Return the weariness in logits: second block, second session of the behaviour, earlier sessions of the day."""
    tired: Array = (
        laws.TIRED_SECOND_BLOCK * block
        + laws.TIRED_SECOND_SESSION * (same_today > 0)
        + laws.TIRED_EARLIER_SESSION * earlier_today
    )
    return tired
