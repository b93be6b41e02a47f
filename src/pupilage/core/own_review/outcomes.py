"""What became of a goal by the hand-over, and how much it took to come there."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from enum import StrEnum

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.survival import Wait, survival_of
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

N_TEST, N_PASS = 10, 8
"""The test that a forecast is about: 8 of 10."""

LEAST_COLD = 4
"""A probe has four tries (`criterion.probe.PROBE_TRIALS`): fewer cold tries decide nothing."""

ABOUT = timedelta(days=7)
"""A cold test counts from a week before the hand-over to a week after it (an own choice)."""

LEAST_STAYS = 3
"""Under three stays with a behaviour, no time is given for it."""


class Evidence(StrEnum):
    """What the outcome was read from. Stored values are fixed for good."""

    COLD = "cold"
    """A cold test about the hand-over."""
    PRACTICE = "practice"
    """The last ten training tries at the goal's step, or beyond it."""
    NOT_REACHED = "not-reached"
    """Practised, and never at the goal's step."""
    UNKNOWN = "unknown"
    """Too few tries to say; it is in no score."""


@dataclass(frozen=True)
class GoalOutcome:
    """Whether a goal was met; None where it is not known. since: of the first try it was read from.

    A forecast told after that had already seen a part of its own outcome, and is no forecast.
    """

    met: bool | None
    evidence: Evidence
    since: datetime | None = None


def outcome_of(behaviour: Behaviour, target: str, trials: Sequence[Trial], *, handover_at: datetime) -> GoalOutcome:
    """Return what became of a goal.

    Model: the newest ten cold tries at the target or beyond, within a week of the hand-over, four or more: met where
    eight in ten of them were. Without those, the last ten training tries there before the hand-over, met with eight.
    A goal that was practised and never at its step was not met. Help counts as not met.
    Parameters: trials, of this behaviour and stay, in time order; handover_at, the first instant of that day.
    """
    there = _at_or_beyond(behaviour, target, trials)
    cold = [t for t in there if t.kind is SessionKind.PROBE and abs(t.at - handover_at) <= ABOUT][-N_TEST:]
    if len(cold) >= LEAST_COLD:
        return GoalOutcome(_passes(cold), Evidence.COLD, cold[0].at)
    warm = [t for t in there if t.kind is SessionKind.TRAINING and t.at < handover_at + timedelta(days=1)][-N_TEST:]
    if len(warm) == N_TEST:
        return GoalOutcome(_passes(warm), Evidence.PRACTICE, warm[0].at)
    practised = any(t.kind is SessionKind.TRAINING for t in trials)
    if practised and not there:
        return GoalOutcome(False, Evidence.NOT_REACHED)
    return GoalOutcome(None, Evidence.UNKNOWN)


@dataclass(frozen=True)
class Road:
    """What a goal took in one stay until eight of ten tries were met at its step, or until the record ended.

    reached: False where it did not come to that; the figures are then what was spent, and the true ones lie beyond.
    """

    n_sessions: int
    n_tries: int
    n_days: int
    reached: bool


def road_to(behaviour: Behaviour, target: str, trials: Sequence[Trial], zone: tzinfo) -> Road | None:
    """Return what a goal took from the first training try on; None without one. trials: in time order."""
    tries = [t for t in trials if t.kind is SessionKind.TRAINING and t.outcome is not Outcome.VOID]
    if not tries:
        return None
    keys = _keys_from(behaviour, target)
    run: list[Trial] = []
    for n, trial in enumerate(tries, start=1):
        if trial.step in keys:
            run = [*run, trial][-N_TEST:]
            if len(run) == N_TEST and _passes(run):
                return _road(tries[:n], zone, reached=True)
    return _road(tries, zone, reached=False)


def _road(tries: Sequence[Trial], zone: tzinfo, *, reached: bool) -> Road:
    days = (local_day(tries[-1].at, zone) - local_day(tries[0].at, zone)).days + 1
    return Road(len({trial.session_id for trial in tries}), len(tries), days, reached)


@dataclass(frozen=True)
class Middle:
    """The middle of a count by Kaplan and Meier, with 95 % limits; None for what the record does not reach."""

    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class RoadSummary:
    """How long a behaviour takes: stays, those that came to the goal, and the middles; None under three stays."""

    n: int
    n_reached: int
    sessions: Middle | None
    tries: Middle | None
    days: Middle | None


@dataclass(frozen=True)
class BehaviourRoad:
    """How long one behaviour took, over the ended stays."""

    behaviour: str
    name: str
    summary: RoadSummary


def summarise_roads(roads: Sequence[Road]) -> RoadSummary:
    """Return the middles over stays; a stay that ended before its goal counts as one that waits on."""
    n, n_reached = len(roads), sum(road.reached for road in roads)
    if n < LEAST_STAYS:
        return RoadSummary(n, n_reached, None, None, None)
    return RoadSummary(
        n,
        n_reached,
        middle_of([(road.n_sessions, road.reached) for road in roads]),
        middle_of([(road.n_tries, road.reached) for road in roads]),
        middle_of([(road.n_days, road.reached) for road in roads]),
    )


def middle_of(spent: Sequence[tuple[float, bool]]) -> Middle:
    """Return the first count by which half had come to the goal, and where the limits of the curve pass a half.

    Raises InvalidInput without any. Source: Kaplan & Meier (1958); limits after Brookmeyer & Crowley (1982), Biometrics
    38, 29-41, on the complementary log-log scale; lifelines' values in tests/external/test_own_review.py.
    """
    if not spent:
        raise InvalidInput.of("spent", "No stay yet with this behaviour.")
    curve = survival_of([Wait(float(count), reached) for count, reached in spent])

    def first(share: Sequence[float]) -> float | None:
        return next((float(t) for t, s in zip(curve.times, share, strict=True) if s <= 0.5), None)

    return Middle(first(curve.share.tolist()), first(curve.low.tolist()), first(curve.high.tolist()))


def _at_or_beyond(behaviour: Behaviour, target: str, trials: Sequence[Trial]) -> list[Trial]:
    keys = _keys_from(behaviour, target)
    return [trial for trial in trials if trial.step in keys and trial.outcome is not Outcome.VOID]


def _keys_from(behaviour: Behaviour, target: str) -> set[str]:
    place = behaviour.step_index(target)
    return set() if place is None else {step.key for step in behaviour.steps[place:]}


def _passes(trials: Sequence[Trial]) -> bool:
    return sum(trial.outcome is Outcome.MET for trial in trials) * N_TEST >= N_PASS * len(trials)
