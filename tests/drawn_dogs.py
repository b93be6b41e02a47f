"""Dogs drawn from a prior and trained by a fixed rule, by the engine's own equations, one dog at a time.

Written without the grid: a dog has one skill, one rate, one half-life and one way of learning and forgetting.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from engine_cases import START
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.difficulty import ladder_of
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, FORMS, Family, Forgetting
from pupilage.core.training.posterior.prior import MODELS, Prior
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial


@dataclass
class DrawnBehaviour:
    """The truth of one behaviour. skill: today's in logits (families with a skill); mastered: levels (the other)."""

    start: float
    rate: float
    half_life: float
    skill: float
    mastered: int
    n_met: int = 0


@dataclass(frozen=True)
class DrawnDog:
    """A dog's way of learning and forgetting, its behaviours, and the trials that were seen."""

    family: Family
    law: Forgetting
    truths: tuple[DrawnBehaviour, ...]
    trials: list[Trial]
    model: int


def draw_dog(prior: Prior, behaviours: Sequence[Behaviour], rng: np.random.Generator, *, n_days: int) -> DrawnDog:
    """Return a dog that had one session of two blocks of five a day and behaviour, raised at 4 met, lowered at 2."""
    model = int(rng.choice(len(MODELS), p=prior.models))
    family, law = MODELS[model]
    truths = tuple(_draw_behaviour(prior, behaviour, rng) for behaviour in behaviours)
    dog = DrawnDog(family, law, truths, [], model)
    steps = [0] * len(behaviours)
    for day in range(n_days):
        form = float(rng.choice(FORMS, p=FORM_WEIGHTS))
        for i, behaviour in enumerate(behaviours):
            tired_before = learners.EARLIER_SESSION * i
            for block in range(2):
                tired = tired_before + learners.SECOND_BLOCK * min(1, block)
                n_met = _train(dog, i, behaviour, steps[i], (day, block), form, tired, rng)
                steps[i] = int(np.clip(steps[i] + (n_met >= 4) - (n_met <= 2), 0, len(behaviour.steps) - 1))
        for truth in truths:
            _sleep(dog, truth, prior.base, rng)
    return dog


def _draw_behaviour(prior: Prior, behaviour: Behaviour, rng: np.random.Generator) -> DrawnBehaviour:
    start = float(rng.choice(prior.skills, p=prior.skill_weights))
    rate = float(rng.choice(prior.rates, p=prior.rate_weights))
    half_life = float(rng.choice(prior.half_lives, p=prior.half_life_weights))
    n_levels = len(behaviour.steps)
    mastered = int(rng.choice(n_levels + 1, p=learners.start_by_levels(n_levels)))
    return DrawnBehaviour(start, rate, half_life, float(learners.bound(start, prior.base)), mastered)


def _train(dog, i, behaviour, step, when, form, tired, rng) -> int:
    truth, ladder, (day, block) = dog.truths[i], ladder_of(behaviour), when
    delta, n_levels = float(ladder.delta[step]), len(behaviour.steps)
    at = START + timedelta(days=day, minutes=20 * i + 2 * block)
    n_met, session = 0, f"{day}-{i}"
    for t in range(learners.BLOCK_TRIALS):
        if dog.family is Family.BY_LEVELS:
            p = float(learners.p_met_by_levels(n_levels, step, form=form, tired=tired)[truth.mastered])
        else:
            p = float(learners.p_met(truth.skill, delta, form=form, tired=tired))
        met = bool(rng.random() < p)
        n_met += met
        if dog.family is Family.BY_LEVELS and truth.mastered == step:
            truth.mastered += bool(rng.random() < learners.p_step_up(truth.rate, 1))
        dog.trials.append(
            Trial(
                event_id=f"{session}-{block}-{t}",
                session_id=session,
                at=at + timedelta(seconds=5 * t),
                behaviour=behaviour.key,
                step=behaviour.steps[step].key,
                outcome=Outcome.MET if met else Outcome.MISSED,
                kind=SessionKind.TRAINING,
            )
        )
    learn = {
        Family.TOWARD_LEVEL: learners.learn_toward_level,
        Family.PER_SUCCESS: learners.learn_per_success,
    }.get(dog.family)
    if learn is not None:
        truth.skill = float(learn(truth.skill, truth.rate, delta, learners.BLOCK_TRIALS, n_met))
    truth.n_met += n_met
    return n_met


def _sleep(dog: DrawnDog, truth: DrawnBehaviour, base: float, rng: np.random.Generator) -> None:
    half_life = truth.half_life * float(learners.growth_of(truth.n_met))
    kept = float(learners.retained(1.0, half_life, dog.law))
    truth.skill = float(learners.forget(truth.skill, kept, base))
    if truth.mastered and rng.random() < 1.0 - kept:
        truth.mastered -= 1
