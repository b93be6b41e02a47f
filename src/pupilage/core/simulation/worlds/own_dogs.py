"""Learners of others in a season: one object a dog, in the place of the world's own dogs."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds.comparison import Guests
from pupilage.core.simulation.worlds.laws import FORMS, P_FORMS, Array
from pupilage.core.simulation.worlds.one_dog import Learner, MakeLearner, Outcome, Programme, programmes_of
from pupilage.core.simulation.worlds.regimes import BLOCK, Dogs, Flags, Whole, World
from pupilage.core.simulation.worlds.scoring import NEED, TEST_TRIALS

N_TESTS = 20
"""Cold tests of ten for each goal: what a learner's true chance is cannot be asked, it is counted."""

TEST_FORMS = tuple(form for form, p in zip(FORMS, P_FORMS, strict=True) for _ in range(round(p * N_TESTS)))
MAKING, TESTING = 10_000, 20_000
"""Places in the seed beyond every behaviour and block: the making of a dog, and its tests."""


@dataclass
class OwnKennel:
    """N learners. A block's luck hangs on seed, dog, behaviour and how many blocks it has had: the same for all."""

    learners: list[Learner]
    programmes: list[Programme]
    seed: int
    first: int
    n_blocks: Whole = field(init=False)

    def __post_init__(self) -> None:
        self.n_blocks = np.zeros((len(self.learners), len(self.programmes[0].goals)), dtype=np.int64)

    def _rng(self, dog: int, behaviour: int, place: int) -> np.random.Generator:
        return np.random.default_rng([self.seed, self.first + dog, behaviour, place])

    def train(self, rows: Whole, behaviour: Whole, level: Whole, *, form: Array, tired: Array) -> tuple[Flags, Array]:
        """Run a block of five; return which were met and the latencies, both (len(rows), 5)."""
        met, latency_s = np.zeros((len(rows), BLOCK), dtype=bool), np.full((len(rows), BLOCK), np.nan)
        for i, (dog, which, step) in enumerate(zip(map(int, rows), map(int, behaviour), map(int, level), strict=True)):
            learner = self.learners[dog]
            _tell(learner, float(form[i]), float(tired[i]))
            rng = self._rng(dog, which, int(self.n_blocks[dog, which]))
            tries = tuple(require_outcome(learner.attempt(which, step, rng)) for _ in range(BLOCK))
            learner.after_block(which, step, tries)
            met[i] = [one.met for one in tries]
            latency_s[i] = [one.latency_s if one.met else np.nan for one in tries]
        self.n_blocks[rows, behaviour] += 1
        return met, latency_s

    def overnight(self, day: int) -> None:
        """Let a night pass."""
        for learner in self.learners:
            learner.overnight(1)

    def goal_chances(self) -> Array:
        """Return the share (N, B) of N_TESTS cold tests of ten in which eight were met at the goal's step."""
        passed = [
            [self._share_passed(dog, behaviour, goal) for behaviour, goal in enumerate(programme.goals)]
            for dog, programme in enumerate(self.programmes)
        ]
        return np.asarray(passed)

    def _share_passed(self, dog: int, behaviour: int, goal: int) -> float:
        learner, rng, n_passed = self.learners[dog], self._rng(dog, behaviour, TESTING), 0
        for form in TEST_FORMS:
            _tell(learner, form, 0.0)
            met = [require_outcome(learner.attempt(behaviour, goal, rng)).met for _ in range(TEST_TRIALS)]
            n_passed += sum(met) >= NEED
        return n_passed / len(TEST_FORMS)


def _tell(learner: Learner, form: float, tired: float) -> None:
    conditions = getattr(learner, "conditions", None)
    if conditions is not None:
        conditions(form, tired)


def require_outcome(given: Any) -> Outcome:
    """Return the outcome of a trial. Raises InvalidInput where a learner gave something else."""
    if not isinstance(given, Outcome):
        raise InvalidInput.of("attempt", "A learner's attempt gave {given}; return an Outcome.", given=repr(given))
    return given


def own_dogs(make: MakeLearner, name: str, *, seed: int) -> Guests:
    """Return what puts learners in the place of a world's dogs; `name` is what errors call it.

    Each is made with a generator of its own, so that the n-th is the same for every policy.
    Raises (when it is called) InvalidInput for learners that lack a method.
    """

    def made(world: World, dogs: Dogs, rows: slice) -> OwnKennel:
        programmes = programmes_of(world, dogs)
        learners = [
            require_learner(make(one, np.random.default_rng([seed, rows.start + i, MAKING])), name)
            for i, one in enumerate(programmes)
        ]
        return OwnKennel(learners, programmes, seed, rows.start)

    return made


def require_learner(made: Any, name: str) -> Learner:
    """Return a learner. Raises InvalidInput where it lacks a method."""
    if not isinstance(made, Learner):
        raise InvalidInput.of(
            "learner",
            "“{name}” makes {given}; a learner needs attempt, after_block and overnight.",
            name=name,
            given=repr(made),
        )
    return made
