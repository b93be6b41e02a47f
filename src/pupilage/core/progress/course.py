"""How the chances of every step stood in the evening of every day on which a behaviour was tried.

The estimate of an evening is the one that stood then: later tries do not reach back. The engine keeps no past states,
so the record is folded again day by day, and what was read is kept; a longer record goes on from its newest morning.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, tzinfo
from itertools import groupby

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import DogState, arrive, at_moment, fold, fresh_state
from pupilage.core.training.record.evidence import Outcome, Trial


@dataclass(frozen=True)
class StepChance:
    """The chance of a try at a step, not tired: its mean and 90 % interval."""

    p: float
    low: float
    high: float


@dataclass(frozen=True)
class Evening:
    """How a behaviour stood in the evening of a day: `steps` in the order of its list."""

    day: date
    steps: tuple[StepChance, ...]


@dataclass(frozen=True)
class Course:
    """The evenings of every behaviour, in time order, and where to go on: the trials before the newest day."""

    trials: tuple[Trial, ...]
    evenings: Mapping[str, tuple[Evening, ...]] = field(default_factory=dict)
    n_dawn: int = 0
    dawn: DogState | None = None

    def of(self, behaviour: str) -> tuple[Evening, ...]:
        """Return the evenings of one behaviour; none where it was never tried."""
        return self.evenings.get(behaviour, ())


def follow(known: Knowledge, *, earlier: Course | None = None) -> Course:
    """Return the course that a dog's record took, up to its newest trial.

    Model: `state.fold` of all trials up to the end of each day, and `reading.read_step` for every step of what was
    tried on it. Parameters: earlier, a course of the same dog, behaviours, zone and prior, to go on from where the
    record still bears it out: the answer is the same. Checked in tests/unit/progress/test_course.py.
    """
    trials, zone = known.trials, known.state.zone
    start, state, evenings = _go_on(earlier, trials, zone)
    if state is None:
        state = fresh_state(known.behaviours.values(), prior=known.state.prior, zone=zone)
    n_dawn, dawn = start, state
    for day, found in groupby(trials[start:], key=lambda trial: local_day(trial.at, zone)):
        todays = list(found)
        n_dawn, dawn = start, arrive(state, todays[0].at)
        state = fold(dawn, todays)
        start += len(todays)
        for key in _tried(known.behaviours, todays):
            evenings[key] = (*evenings.get(key, ()), read_evening(state, key, day, todays[-1]))
    return Course(trials, evenings, n_dawn, dawn)


def _go_on(
    earlier: Course | None, trials: tuple[Trial, ...], zone: tzinfo
) -> tuple[int, DogState | None, dict[str, tuple[Evening, ...]]]:
    """Return the trials that need not be folded again, the state after them, and the evenings of ended days."""
    n = 0 if earlier is None else earlier.n_dawn
    if earlier is None or earlier.dawn is None or trials[:n] != earlier.trials[:n]:
        return 0, None, {}
    newest = local_day(earlier.trials[n].at, zone)
    if len(trials) > n and local_day(trials[n].at, zone) < newest:  # a phone that was offline has sent an earlier day
        return 0, None, {}
    kept = {key: tuple(one for one in found if one.day < newest) for key, found in earlier.evenings.items()}
    return n, earlier.dawn, kept


def _tried(behaviours: Mapping[str, Behaviour], trials: Iterable[Trial]) -> list[str]:
    """Return what of the catalogue was tried; a void try is none."""
    tried = dict.fromkeys(trial.behaviour for trial in trials if trial.outcome is not Outcome.VOID)
    return [key for key in tried if key in behaviours]


def read_evening(state: DogState, behaviour: str, day: date, last: Trial) -> Evening:
    """Return how a behaviour stands after the last trial of a day."""
    now = at_moment(state, behaviour, now=last.at)
    steps = []
    for step in range(len(now.ladder.keys)):
        reading = read_step(now, step, tired=0.0)
        steps.append(StepChance(reading.mean, *reading.interval()))
    return Evening(day, tuple(steps))
