"""Made-up records for the benches: single blocks of tries, and whole simulated dogs."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

START = datetime(2031, 5, 4, 9, tzinfo=UTC)
BLOCK = 5


def tries(behaviour: str, step: str, met: Iterable[Any], *, session: str, at: datetime) -> list[Any]:
    """Return one training trial for each outcome, five seconds apart."""
    from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

    return [
        Trial(
            event_id=f"{session}-{at:%H%M}-{i}",
            session_id=session,
            at=at + timedelta(seconds=5 * i),
            behaviour=behaviour,
            step=step,
            outcome=Outcome.MET if one else Outcome.MISSED,
            kind=SessionKind.TRAINING,
        )
        for i, one in enumerate(met)
    ]


def after_block(step: int, n_met: int, n_steps: int) -> int:
    """Return the next step by the plain rule: up at four met of five, down at two."""
    return min(n_steps - 1, max(0, step + (n_met >= 4) - (n_met <= 2)))


def simulated_dog(behaviours: Any, rate: float, rng: Any, *, n_days: int = 12) -> list[Any]:
    """Return the trials of one dog of `core.simulation.learner`: a session of two blocks a day and behaviour.

    rate: the median of its behaviours' learning rates.
    """
    from pupilage.core.simulation.learner import Learner, draw_form
    from pupilage.core.training.posterior.difficulty import ladder_of

    ladders = {key: ladder_of(behaviour) for key, behaviour in behaviours.items()}
    pups = {key: Learner(rng.normal(0.2, 0.6), rate * float(rng.lognormal(0.0, 0.4))) for key in behaviours}
    steps, trials = dict.fromkeys(behaviours, 0), []
    for day in range(n_days):
        form = draw_form(rng)
        for i, (key, pup) in enumerate(pups.items()):
            pup.form, ladder = form, ladders[key]
            pup.begin_session(i)
            for block in range(2):
                met = [pup.attempt(float(ladder.delta[steps[key]]), rng).met for _ in range(BLOCK)]
                at = START + timedelta(days=day, minutes=20 * i + 2 * block)
                trials += tries(key, ladder.keys[steps[key]], met, session=f"{day}-{i}", at=at)
                steps[key] = after_block(steps[key], sum(met), len(ladder.keys))
                pup.after_block(sum(met), rng)
        for pup in pups.values():
            pup.overnight()
    return trials
