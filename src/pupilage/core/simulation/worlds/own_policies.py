"""Policies of others in a season: one object a dog, each asked only for its own dog."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.worlds.comparison import Maker
from pupilage.core.simulation.worlds.one_dog import Came, MakePolicy, Outcome, Policy, Programme, Seen, programmes_of
from pupilage.core.simulation.worlds.regimes import Dogs, Whole, World
from pupilage.core.simulation.worlds.season import REST, Observation, Outcomes


@dataclass
class OwnPolicies:
    """A batch policy made of one policy a dog."""

    policies: list[Policy]
    programmes: list[Programme]

    def choose(self, observation: Observation) -> tuple[Whole, Whole]:
        """Ask the policy of every dog whose block takes place. Raises InvalidInput for a choice that is not open."""
        behaviour, level = np.full((2, len(self.policies)), REST)
        asked = observation.happens & ((observation.block == 0) | (observation.running >= 0))
        for dog in np.flatnonzero(asked):
            seen = _seen(observation, int(dog))
            choice = self.policies[dog].choose(seen)
            if choice is not None:
                behaviour[dog], level[dog] = require_choice(choice, seen, self.programmes[dog])
            elif seen.running is not None:
                raise InvalidInput.of("choose", "A policy cannot rest between the two blocks of a session.")
        return behaviour, level

    def observe(self, outcomes: Outcomes) -> None:
        """Tell every policy what came of its dog's block."""
        for i, dog in enumerate(outcomes.rows):
            trials = zip(outcomes.met[i], outcomes.latency_s[i], strict=True)
            tries = tuple(Outcome(bool(met), float(latency_s)) for met, latency_s in trials)
            behaviour, level = int(outcomes.behaviour[i]), int(outcomes.level[i])
            self.policies[dog].observe(Came(outcomes.day, behaviour, level, tries, float(outcomes.tired[i])))


def _seen(observation: Observation, dog: int) -> Seen:
    running = int(observation.running[dog])
    return Seen(
        day=observation.day,
        slot=observation.slot,
        block=observation.block,
        running=running if running >= 0 else None,
        allowed=tuple(map(bool, observation.allowed[dog])),
        sessions_today=tuple(map(int, observation.sessions_today[dog])),
    )


def require_choice(choice: Any, seen: Seen, programme: Programme) -> tuple[int, int]:
    """Return a policy's choice as (behaviour, step). Raises InvalidInput for what is no choice, or not open to it."""
    try:
        behaviour, step = (int(one) for one in choice)
    except (TypeError, ValueError):
        raise InvalidInput.of(
            "choose", "A policy chose {given}; return (behaviour, step), or None to rest.", given=repr(choice)
        ) from None
    if not (0 <= behaviour < len(programme.goals) and 0 <= step < programme.n_steps):
        raise InvalidInput.of(
            "choose",
            "A policy chose behaviour {behaviour} at step {step}; there are {n} behaviours of {steps} steps, from 0.",
            behaviour=behaviour,
            step=step,
            n=len(programme.goals),
            steps=programme.n_steps,
        )
    if seen.running is not None and behaviour != seen.running:
        raise InvalidInput.of(
            "choose",
            "A session of behaviour {running} cannot go on with {given}.",
            running=seen.running,
            given=behaviour,
        )
    if seen.running is None and not seen.allowed[behaviour]:
        raise InvalidInput.of(
            "choose", "Behaviour {given} is not open: it waits for another, or had its sessions today.", given=behaviour
        )
    return behaviour, step


def own_policies(make: MakePolicy, name: str) -> Maker:
    """Return the maker of a batch policy from a maker of policies; `name` is what errors call it.

    Raises (when it is called) InvalidInput for policies that lack a method.
    """

    def made(world: World, dogs: Dogs) -> OwnPolicies:
        programmes = programmes_of(world, dogs)
        return OwnPolicies([require_policy(make(one), name) for one in programmes], programmes)

    return made


def require_policy(made: Any, name: str) -> Policy:
    """Return a policy. Raises InvalidInput where it lacks a method."""
    if not isinstance(made, Policy):
        raise InvalidInput.of(
            "policy", "“{name}” makes {given}; a policy needs choose and observe.", name=name, given=repr(made)
        )
    return made
