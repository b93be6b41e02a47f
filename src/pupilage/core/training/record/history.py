"""One dog's trials of one behaviour, read as a history: in time order, by run at a step, by session."""

import math
from collections.abc import Iterable, Sequence
from datetime import UTC
from itertools import takewhile
from operator import attrgetter

from pupilage.core.catalogue.behaviour import Behaviour, Step
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.record.evidence import SessionKind, Trial


def require_step(behaviour: Behaviour, key: str, where: str = "step") -> Step:
    """Return the step of this key. Raises InvalidInput, naming the steps that exist."""
    step = behaviour.step(key)
    if step is None:
        raise InvalidInput.of(
            where,
            "“{step}” is no step of {behaviour}; its steps are {steps}.",
            step=key,
            behaviour=behaviour.key,
            steps=", ".join(known.key for known in behaviour.steps),
        )
    return step


def require_history(behaviour: Behaviour, trials: Sequence[Trial]) -> list[Trial]:
    """Return the trials in time order.

    Raises InvalidInput, with every problem found, for another behaviour's trial, an instant without a zone, or a
    latency or hold that is no time.
    """
    key = behaviour.key
    problems = [problem for t in trials if not _is_sound(key, t) for problem in _problems(behaviour, t)]
    if problems:
        raise InvalidInput(problems)
    return sorted(trials, key=attrgetter("at"))


def _is_sound(behaviour: str, trial: Trial) -> bool:
    """Say at once whether all is well, as it nearly always is: `_problems` looks closer, and takes longer."""
    return (
        trial.behaviour == behaviour
        and (trial.at.tzinfo is UTC or trial.at.utcoffset() is not None)
        and (trial.latency_s is None or 0.0 <= trial.latency_s < math.inf)
        and (trial.hold is None or (0.0 <= trial.hold.held_s < math.inf and 0.0 <= trial.hold.target_s < math.inf))
    )


def _problems(behaviour: Behaviour, trial: Trial) -> list[Problem]:
    found: list[Problem] = []
    if trial.behaviour != behaviour.key:
        found.append(
            Problem(
                "trials",
                "Trial {id} is of {given}, not of {wanted}; give the trials of one behaviour.",
                id=trial.event_id,
                given=trial.behaviour,
                wanted=behaviour.key,
            )
        )
    if trial.at.utcoffset() is None:
        found.append(
            Problem(
                "trials",
                "Trial {id} at {at} has no time zone; give one, such as +00:00.",
                id=trial.event_id,
                at=trial.at.isoformat(),
            )
        )
    for seconds in _times_s(trial):
        if not (math.isfinite(seconds) and seconds >= 0.0):
            found.append(
                Problem(
                    "trials",
                    "Trial {id} has a time of {seconds} s; give seconds of 0 or more, or none.",
                    id=trial.event_id,
                    seconds=seconds,
                )
            )
    return found


def _times_s(trial: Trial) -> tuple[float, ...]:
    latency = () if trial.latency_s is None else (trial.latency_s,)
    return latency if trial.hold is None else (*latency, trial.hold.held_s, trial.hold.target_s)


def training_of(trials: Iterable[Trial]) -> list[Trial]:
    """Return the training trials; probes measure, and are kept apart."""
    return [trial for trial in trials if trial.kind is SessionKind.TRAINING]


def run_at(step: str, trials: Sequence[Trial]) -> list[Trial]:
    """Return the training trials at the step since practice last came to it; empty when it is elsewhere now."""
    backwards = (trial for trial in reversed(trials) if trial.kind is SessionKind.TRAINING)
    return list(takewhile(lambda trial: trial.step == step, backwards))[::-1]


def live_session(trials: Iterable[Trial], session_id: str | None) -> list[Trial]:
    """Return the training trials of this session so far; empty without a session."""
    return training_of(trial for trial in trials if trial.session_id == session_id)
