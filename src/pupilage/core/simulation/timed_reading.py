"""What the engine says of simulated dogs whose starts are timed, with the latencies in its record and without them."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum

import numpy as np

from pupilage.core.simulation.timed_dogs import Floats, Starts, TimedDogs, watch_dogs
from pupilage.core.simulation.worlds.regimes import KNOWN_TRUTHS, N_DAYS, N_LEVELS
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.difficulty import Ladder
from pupilage.core.training.posterior.prior import shipped_prior
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import DogState, at_moment, fold
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

BEHAVIOUR = "taught"
START = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)
EARLY_UNTIL_DAY, LATE_FROM_DAY = 7, 14


class Reader(StrEnum):
    """What of the record is read."""

    OUTCOMES = "outcomes alone"
    FEWER = "outcomes alone, one try in five left out"
    LATENCIES = "with latencies"


@dataclass(frozen=True)
class ReadingScores:
    """What was said before every block, (dogs, days, 2): the log score of the next try, expected under its true
    chance; the width of the 90 % interval, and whether it holds.
    """

    log_score: Floats
    width: Floats
    holds: Floats


def read_dogs(n: int, reader: Reader, starts: Starts, *, seed: int) -> ReadingScores:
    """Return the scores of a reader on n dogs of each family. Deterministic for a seed."""
    found = []
    for truth in KNOWN_TRUTHS:
        dogs = watch_dogs(n, truth, starts, seed=seed)
        found += [_follow(dogs, i, reader) for i in range(n)]
    return ReadingScores(*np.stack(found, axis=1))


def _follow(dogs: TimedDogs, i: int, reader: Reader) -> Floats:
    """Return log score, width and holding (3, days, 2) of one dog."""
    keys = tuple(chr(ord("a") + level) for level in range(N_LEVELS))
    ladder = Ladder(keys, float(dogs.spacing[i]) * np.arange(float(N_LEVELS)), np.zeros(N_LEVELS))
    state = DogState(shipped_prior(), UTC, {BEHAVIOUR: ladder}, log_models=np.log(shipped_prior().models))
    found = np.zeros((3, *dogs.chance.shape[1:]))
    for day in range(N_DAYS):
        for block in range(dogs.level.shape[2]):
            place, at = (i, day, block), START + timedelta(days=day, minutes=block)
            level, p = int(dogs.level[place]), float(dogs.chance[place])
            reading = read_step(at_moment(state, BEHAVIOUR, now=at), level, tired=learners.tiredness(block, 0, 0))
            low, high = reading.interval()
            log_score = p * np.log(reading.mean) + (1.0 - p) * np.log1p(-reading.mean)
            found[:, day, block] = log_score, high - low, low <= p <= high
            state = fold(state, _read(_trials(keys[level], dogs, place, at), reader))
    return found


def _trials(step: str, dogs: TimedDogs, place: tuple[int, int, int], at: datetime) -> list[Trial]:
    return [
        Trial(
            event_id=f"{at.isoformat()}-{n}",
            session_id=f"day-{place[1]}",
            at=at + timedelta(seconds=n),
            behaviour=BEHAVIOUR,
            step=step,
            outcome=Outcome.MET if met else Outcome.MISSED,
            kind=SessionKind.TRAINING,
            latency_s=float(np.exp(log_s)) if met else None,
        )
        for n, (met, log_s) in enumerate(zip(dogs.met[place], dogs.log_s[place], strict=True))
    ]


def _read(trials: list[Trial], reader: Reader) -> list[Trial]:
    if reader is Reader.LATENCIES:
        return trials
    untimed = [replace(trial, latency_s=None) for trial in trials]
    return untimed[:-1] if reader is Reader.FEWER else untimed
