"""Where practice of a behaviour stands: the step to begin the next session with."""

from collections.abc import Sequence
from datetime import datetime

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training.criterion.decision import DAYS_AHEAD, judge_run
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.record.history import run_at

COLD_SHARE_MET = 0.8
"""A step met in this share of its cold trials is one to begin at (common practice)."""


def current_step(
    behaviour: Behaviour,
    known: Knowledge,
    *,
    now: datetime,
    target: str | None = None,
    days_left: int = DAYS_AHEAD,
) -> str:
    """Return the key of the step to practise next.

    It is the step of the newest training trial, moved by what the advice says of the run there. Without training it
    is the highest step that was met in four of five cold trials of the baseline, else the first step. Trials at
    steps that the catalogue no longer has are passed over.
    Raises: InvalidInput for an instant without a zone.
    """
    history = known.of(behaviour.key)
    last = practised_step(behaviour, history)
    if last is None:
        return cold_step(behaviour, history)
    advice = judge_run(behaviour, last, known, now=now, target=target, days_left=days_left)
    return behaviour.steps[advice.step].key


def practised_step(behaviour: Behaviour, history: Sequence[Trial]) -> str | None:
    """Return the step practised last that the catalogue still has, None before the first training."""
    steps = {step.key for step in behaviour.steps}
    backwards = (trial for trial in reversed(history) if trial.kind is SessionKind.TRAINING)
    return next((trial.step for trial in backwards if trial.step in steps), None)


def current_run(behaviour: Behaviour, history: Sequence[Trial]) -> list[Trial]:
    """Return the training trials at the step practised last, since practice came to it."""
    step = practised_step(behaviour, history)
    return [] if step is None else run_at(step, [trial for trial in history if behaviour.step(trial.step) is not None])


def cold_step(behaviour: Behaviour, history: Sequence[Trial]) -> str:
    """Return the highest step that the baseline probes found met in four of five trials, else the first."""
    probes = [t for t in history if t.kind is SessionKind.PROBE and t.outcome is not Outcome.VOID]
    for step in reversed(behaviour.steps):
        outcomes = [trial.outcome for trial in probes if trial.step == step.key]
        if outcomes and outcomes.count(Outcome.MET) >= COLD_SHARE_MET * len(outcomes):
            return step.key
    return behaviour.steps[0].key
