"""Simulated stays: pups whose bladders fill, and a policy that decides when to take each of them out."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.care.toilet.curve import POWER, Curve, Doing, Need
from pupilage.core.care.toilet.hazards import PULL
from pupilage.core.care.toilet.opportunity import P_DISTRACTED
from pupilage.core.care.toilet.rates import Floats
from pupilage.core.simulation.outings.days import N_STEPS, STEP_MIN, Day, draw_day

N_DAYS = 21
SCALE_SD = 0.35
"""Between pups, of the log of the scale (METHODS)."""

ARRIVAL_WEEKS = (8.0, 14.0)
Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Pups:
    """The pups as they are. hazard: times the pooled curve's; pull, p_distracted: what an outing does to each.

    power: of the time since the last elimination, by which the urge grows; resting_times: the scale at rest, times the
    curve's.
    """

    arrival_weeks: Floats
    hazard: Floats
    pull: Floats
    p_distracted: Floats
    power: float = POWER
    resting_times: float = 1.0

    @property
    def n(self) -> int:
        return len(self.hazard)


@dataclass(frozen=True)
class World:
    """How the pups differ from what the model takes for granted. 1 and 0 are the model's own."""

    hazard_times: float = 1.0
    pull_times: float = 1.0
    pull_sd: float = 0.4
    power: float = POWER
    resting_times: float = 1.0


def draw_pups(n: int, world: World, rng: Generator) -> Pups:
    """Return pups: scales log-normal about the curve, so that its hazard is right on average."""
    sd = POWER * SCALE_SD
    hazard = world.hazard_times * np.exp(sd * rng.standard_normal(n) - 0.5 * sd**2)
    pull = world.pull_times * PULL * np.exp(world.pull_sd * rng.standard_normal(n))
    distracted = rng.beta(3.0, 3.0 / P_DISTRACTED - 3.0, n)
    return Pups(rng.uniform(*ARRIVAL_WEEKS, n), hazard, pull, distracted, world.power, world.resting_times)


@dataclass(frozen=True)
class Now:
    """What a policy sees at a step. tau_min: since the last elimination; times: the hazard's, from what happened."""

    tau_min: Floats
    since_outing_min: Floats
    resting: Bools
    times: Floats
    woke: Bools
    ate: Bools
    played: Bools


@dataclass(frozen=True)
class Seen:
    """What came of a step: of the outings at its start, and indoors until its end."""

    success: Bools
    empty: Bools
    accident: Bools


class Policy(Protocol):
    """Decides, sees what comes, and learns."""

    def begin_day(self, scale_min: dict[Doing, Floats]) -> None:
        """Begin a day, after a successful outing."""

    def wants_out(self, now: Now) -> Bools:
        """Return which pups go out now."""
        ...

    def saw(self, seen: Seen) -> None:
        """See what came of it."""


@dataclass
class Counts:
    """What came, by day and pup: outings, those with nothing done, accidents, and those next after an empty outing."""

    outings: Floats
    accidents: Floats
    empty: Floats
    accidents_after_empty: Floats

    @classmethod
    def none(cls, n: int) -> "Counts":
        return cls(*(np.zeros((N_DAYS, n)) for _ in range(4)))


def live(pups: Pups, policy: Policy, *, seed: int, each_day: Callable[[], None] = lambda: None) -> Counts:
    """Return what comes of a stay of 21 days under a policy. The same seed gives the same days and the same limits.

    Each day begins after a successful outing. The limit of the urge is drawn anew after every elimination; its draws
    are numbered by pup, so that policies meet the same luck as far as they can.
    """
    counts = Counts.none(pups.n)
    for day_number in range(N_DAYS):
        rng = np.random.default_rng([seed, day_number])
        _live_day(pups, policy, draw_day(pups.n, rng), counts, day_number, rng)
        each_day()
    return counts


def _live_day(pups: Pups, policy: Policy, day: Day, counts: Counts, number: int, rng: Generator) -> None:
    limits = rng.exponential(size=(64, pups.n))
    moods = rng.uniform(size=(96, pups.n))
    scales = _scales(pups.arrival_weeks + number / 7.0)
    every = np.arange(pups.n)
    n_gone, n_out = np.zeros(pups.n, dtype=int), np.zeros(pups.n, dtype=int)
    came_to_nothing = np.zeros(pups.n, dtype=bool)
    urge, tau, since = np.zeros(pups.n), np.zeros(pups.n), np.zeros(pups.n)
    policy.begin_day(scales)
    for step in range(N_STEPS):
        resting = day.resting[step]
        scale = np.where(resting, pups.resting_times * scales[Doing.RESTING], scales[Doing.AWAKE])
        out = policy.wants_out(
            Now(tau, since, resting, day.times[step], day.woke[step], day.ate[step], day.played[step])
        )
        limit = limits[n_gone % 64, every]
        willing = moods[n_out % 96, every] >= pups.p_distracted
        success = out & willing & (urge * pups.pull >= limit)
        n_out += out
        counts.outings[number] += out
        counts.empty[number] += out & ~success
        urge, tau = np.where(success, 0.0, urge), np.where(success, 0.0, tau)
        since = np.where(out, 0.0, since)
        came_to_nothing = np.where(out, ~success, came_to_nothing)
        n_gone += success
        limit = limits[n_gone % 64, every]
        begun, ended = (tau / scale) ** pups.power, ((tau + STEP_MIN) / scale) ** pups.power
        urge = urge + pups.hazard * day.times[step] * (ended - begun)
        accident = urge >= limit
        counts.accidents[number] += accident
        counts.accidents_after_empty[number] += accident & came_to_nothing
        came_to_nothing &= ~accident
        n_gone += accident
        policy.saw(Seen(success, out & ~success, accident))
        urge = np.where(accident, 0.0, urge)
        tau = np.where(accident, 0.0, tau + STEP_MIN)
        since = np.where(accident, 0.0, since + STEP_MIN)


def _scales(age_weeks: Floats) -> dict[Doing, Floats]:
    one = Curve(10.0)
    hours = (age_weeks * 7.0 / 30.4375 + 1.0) / (10.0 * 7.0 / 30.4375 + 1.0)
    return {doing: hours * one.scale_min(Need.WEE, doing) for doing in (Doing.AWAKE, Doing.RESTING)}
