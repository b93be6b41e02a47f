"""The program itself as a policy: its own posterior, prior and session values, for one simulated dog.

Nothing of the world is told to it but the programme. Where our policy for many dogs at once (`planner`) starts from the
ranges that a regime's dogs are drawn from, this one starts from the prior that ships.
"""

from datetime import UTC, datetime, timedelta

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour, Criterion, OutcomeWords, Place, Prompt, Scoring, Step
from pupilage.core.simulation.worlds.one_dog import Came, Programme, Seen
from pupilage.core.training.advice import LEAST_P
from pupilage.core.training.difficulty import Ladder
from pupilage.core.training.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.grid import N_SKILL_MODELS
from pupilage.core.training.knowledge import Knowledge
from pupilage.core.training.prior import shipped_prior
from pupilage.core.training.reading import read_step
from pupilage.core.training.session_values import SessionWorth, balancing_price, worth_of_a_session
from pupilage.core.training.state import DogState, fold

START = datetime(2031, 5, 4, 8, 0, tzinfo=UTC)
MISSED_SHARE = 0.08
"""Sessions that a trainer expects to fall away."""
LEAST_P_BY_LEVELS = 0.25
"""A dog that learns level by level meets the one to be learned next four times in ten, and no easier step leads there:
with the band of the other kinds it would never be taught anything."""
WAITS_DAYS = 2
"""A behaviour that waits for another is worth so many days' delay of its value to the one that may open it."""


def steps_of(n: int) -> tuple[Step, ...]:
    """Return n steps that differ in nothing: their difficulties are given by a ladder."""
    plain = Criterion(0.0, 0.0, 0, Place.QUIET_ROOM, Prompt.CUE, None)
    return tuple(Step(str(i), f"step {i}", plain) for i in range(n))


def behaviour_of(key: str, steps: tuple[Step, ...], goal: int) -> Behaviour:
    """Return a made-up behaviour of a simulated programme."""
    return Behaviour(
        key=key,
        name=key,
        definition="",
        cue="",
        scoring=Scoring.TRIAL,
        prerequisites=(),
        min_age_weeks=8,
        steps=steps,
        outcomes=OutcomeWords("", "", "", ""),
        target=steps[goal].key,
        maintain_every_days=7,
        safety=(),
        weight=1,
    )


class Engine:
    """A policy for one dog. Values are worked out every morning, and again for the behaviour just trained."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        steps = steps_of(programme.n_steps)
        self.behaviours = [behaviour_of(str(i), steps, goal) for i, goal in enumerate(programme.goals)]
        levels, none = np.arange(float(programme.n_steps)), np.zeros(programme.n_steps)
        keys = tuple(step.key for step in steps)
        ladders = {str(i): Ladder(keys, spacing * levels, none) for i, spacing in enumerate(programme.spacings)}
        prior = shipped_prior()
        self.state = DogState(prior, UTC, ladders, log_models=np.log(np.maximum(prior.models, 1e-12)))
        self.day, self.price, self.n_sessions = -1, 0.0, 0
        self.now = START
        self.worths: list[SessionWorth] = []
        self.delays: list[float] = []
        self._know()

    def _know(self) -> None:
        self.known = Knowledge({one.key: one for one in self.behaviours}, (), self.state, 0, self.state)

    def choose(self, observation: Seen) -> tuple[int, int] | None:
        """Return the behaviour whose session is worth most, at its best step; None where nothing is open."""
        self.now = START + timedelta(days=observation.day, hours=observation.slot, minutes=5 * observation.block)
        if observation.day != self.day:
            self._morning(observation)
        chosen = observation.running
        if chosen is None:
            index = [self._index(i, observation) for i in range(len(self.worths))]
            chosen = int(np.argmax(index))
            if index[chosen] <= 0.0:
                return None
            self.n_sessions += 1
        return chosen, self._step(chosen)

    def _morning(self, observation: Seen) -> None:
        """Work out the day's price, then every behaviour's worth at it."""
        self.day = observation.day
        n_days = self.programme.n_days - self.day
        left = round(n_days * self.programme.sessions_a_day * (1.0 - MISSED_SHARE))
        places = range(len(self.behaviours))
        self.price = balancing_price([self._worth(i, n_days) for i in places], left)
        self.worths = [self._worth(i, n_days) for i in places]
        later = {waiting for waiting, _ in self.programme.prerequisites if not observation.allowed[waiting]}
        self.delays = [
            self.worths[i].at(self.price) - self._worth(i, max(0, n_days - WAITS_DAYS)).at(self.price)
            if i in later
            else 0.0
            for i in places
        ]

    def _worth(self, behaviour: int, days_left: int) -> SessionWorth:
        one = self.behaviours[behaviour]
        return worth_of_a_session(
            self.known, one, target_step=one.target, days_left=days_left, price=self.price, now=self.now
        )

    def _index(self, behaviour: int, observation: Seen) -> float:
        if not observation.allowed[behaviour]:
            return 0.0
        waiting = [
            one
            for one, needs in self.programme.prerequisites
            if needs == behaviour and not observation.allowed[one] and not observation.sessions_today[one]
        ]
        return self.worths[behaviour].gain + sum(self.delays[one] for one in waiting)

    def _step(self, behaviour: int) -> int:
        """Return the step worth most of those whose predicted success keeps a pup willing; the first if none does."""
        now = self.known.at(self.behaviours[behaviour].key, self.now)
        by_levels = now.models[N_SKILL_MODELS:].sum() > 0.5
        least = LEAST_P_BY_LEVELS if by_levels else LEAST_P
        by_step = self.worths[behaviour].by_step
        for step in np.argsort(-by_step, kind="stable"):
            if read_step(now, int(step)).mean >= least:
                return int(step)
        return 0

    def observe(self, outcomes: Came) -> None:
        """Fold the block, and value the behaviour anew."""
        one = self.behaviours[outcomes.behaviour]
        trials = [
            Trial(
                event_id=f"{self.now.isoformat()}-{i}",
                session_id=str(self.n_sessions),
                at=self.now + timedelta(seconds=9 * i),
                behaviour=one.key,
                step=one.steps[outcomes.step].key,
                outcome=Outcome.MET if tried.met else Outcome.MISSED,
                kind=SessionKind.TRAINING,
            )
            for i, tried in enumerate(outcomes.outcomes)
        ]
        self.state = fold(self.state, trials)
        self._know()
        self.worths[outcomes.behaviour] = self._worth(outcomes.behaviour, self.programme.n_days - outcomes.day)
