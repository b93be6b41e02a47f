"""The program itself as a policy for one simulated dog: the functions that the pages ask, and the prior that ships.

Nothing of the world is told to it but the programme. Our policy for many dogs at once (`planner`) starts from the
ranges that a regime's dogs are drawn from.
"""

from datetime import UTC, datetime, timedelta

import numpy as np

from pupilage.core.catalogue.behaviour import (
    Behaviour,
    Catalogue,
    Criterion,
    OutcomeWords,
    Place,
    Prompt,
    Scoring,
    Step,
)
from pupilage.core.planning.proposal import GoalState, propose_sessions
from pupilage.core.planning.sharing import Share
from pupilage.core.planning.standing import Frame, GoalAim, plan_sessions
from pupilage.core.simulation.worlds.one_dog import Came, Programme, Seen
from pupilage.core.training.criterion.decision import session_worth
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.posterior.difficulty import Ladder
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.prior import shipped_prior
from pupilage.core.training.posterior.retention import days_until_due
from pupilage.core.training.posterior.state import DogState
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

START = datetime(2031, 5, 4, 8, 0, tzinfo=UTC)


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
    """A policy for one dog: the session that Today would propose, at the step that the decision leads to."""

    def __init__(self, programme: Programme) -> None:
        self.programme = programme
        steps = steps_of(programme.n_steps)
        self.behaviours = [behaviour_of(str(i), steps, goal) for i, goal in enumerate(programme.goals)]
        self.catalogue = Catalogue({one.key: one for one in self.behaviours}, {}, ("",) * 6)
        self.aims = tuple(GoalAim(one.key, one.target, 1) for one in self.behaviours)
        first = START.date()
        last = first + timedelta(days=programme.n_days)
        self.frame = Frame(first - timedelta(weeks=9), first, last, programme.sessions_a_day, UTC)
        self.known = _know_nothing(self.behaviours, programme)
        self.now, self.session = START, ""

    def choose(self, observation: Seen) -> tuple[int, int] | None:
        """Return the behaviour and the step; None where nothing is open."""
        self.now = START + timedelta(days=observation.day, hours=observation.slot, minutes=5 * observation.block)
        chosen = observation.running
        if chosen is None:
            proposals = propose_sessions(self._goals(observation), now=self.now, limit=1)
            if not proposals:
                return None
            chosen = int(proposals[0].behaviour_key)
            self.session = f"{self.now.isoformat()}"
        return chosen, self._step(chosen)

    def _goals(self, observation: Seen) -> list[GoalState]:
        plan = plan_sessions(self.aims, self.known, catalogue=self.catalogue, frame=self.frame, now=self.now)
        gains = [self._gain(i) for i in range(len(self.behaviours))]
        waits = {
            needs: gains[waiting]
            for waiting, needs in self.programme.prerequisites
            if not observation.allowed[waiting] and not observation.sessions_today[waiting]
        }
        return [
            self._goal(i, plan[one.key], gains[i], waits.get(i, 0.0), observation)
            for i, one in enumerate(self.behaviours)
            if observation.allowed[i]
        ]

    def _goal(self, i: int, share: Share, gain: float, opens: float, observation: Seen) -> GoalState:
        one, own = self.behaviours[i], self.known.of(self.behaviours[i].key)
        goal, place = self.programme.goals[i], self._step(i)
        due = None
        if own and place >= goal:
            due = days_until_due(self.known.arrived(self.now), one, goal, now=self.now)
        return GoalState(
            behaviour=one,
            step=one.steps[place].key,
            target=one.target,
            weight=1,
            share=share,
            gain=gain,
            p_ready=None,
            last_trained_at=own[-1].at if own else None,
            n_sessions_today=observation.sessions_today[i],
            prerequisites_met=True,
            old_enough=True,
            due_in_days=due,
            opens=opens,
        )

    def _gain(self, i: int) -> float:
        one, days = self.behaviours[i], self.frame.days_left(self.now)
        return session_worth(one, self.known, now=self.now, target=one.target, days_left=days).gain

    def _step(self, i: int) -> int:
        one, days = self.behaviours[i], self.frame.days_left(self.now)
        return int(current_step(one, self.known, now=self.now, target=one.target, days_left=days))

    def observe(self, outcomes: Came) -> None:
        """Write the block's trials down."""
        one = self.behaviours[outcomes.behaviour]
        for i, tried in enumerate(outcomes.outcomes):
            trial = Trial(
                event_id=f"{self.now.isoformat()}-{i}",
                session_id=self.session,
                at=self.now + timedelta(seconds=9 * i),
                behaviour=one.key,
                step=one.steps[outcomes.step].key,
                outcome=Outcome.MET if tried.met else Outcome.MISSED,
                kind=SessionKind.TRAINING,
            )
            self.known = self.known.with_trial(trial)


def _know_nothing(behaviours: list[Behaviour], programme: Programme) -> Knowledge:
    levels, none = np.arange(float(programme.n_steps)), np.zeros(programme.n_steps)
    keys = tuple(step.key for step in behaviours[0].steps)
    ladders = {str(i): Ladder(keys, spacing * levels, none) for i, spacing in enumerate(programme.spacings)}
    prior = shipped_prior()
    state = DogState(prior, UTC, ladders, log_models=np.log(np.maximum(prior.models, 1e-12)))
    return Knowledge({one.key: one for one in behaviours}, (), state, 0, state)
