"""How good the engine's forecasts and intervals are: simulated dogs whose true chances are known are followed.

Each dog learns one behaviour in one session a day, its trainer raising and lowering after every set of five. The
engine sees the trials only. Nothing of the world but its days, and the ladder's spacing, is told to it.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from pupilage.core.simulation.worlds.kennel import Kennel
from pupilage.core.simulation.worlds.laws import Array
from pupilage.core.simulation.worlds.regimes import (
    BLOCK,
    KNOWN_TRUTHS,
    N_DAYS,
    N_LEVELS,
    SPACINGS,
    Flags,
    Regime,
    Truth,
    Whole,
    World,
    draw_chance,
    draw_dogs,
    world_of,
)
from pupilage.core.simulation.worlds.season import tiredness
from pupilage.core.training.outlook.course import (
    BLOCKS_A_SESSION,
    MET_TO_LOWER,
    MET_TO_RAISE,
    Sessions,
    chances_in_test,
    run_course,
)
from pupilage.core.training.posterior.difficulty import Ladder
from pupilage.core.training.posterior.prior import MODELS, Prior, shipped_prior
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import DogState, at_moment, fold
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

FORECAST_DAYS = (5, 10, 15)
BEHAVIOUR = "taught"
START = datetime(2031, 5, 4, 9, 0, tzinfo=UTC)
EARLY_UNTIL_DAY = 7
N_CALIBRATION_BINS = 10


@dataclass(frozen=True)
class Foretold:
    """What was said of N dogs, and what was true.

    forecast (N, 3): the chance that the goal is met, on FORECAST_DAYS; chance (N,): the true one at the end;
    low, high, true (N, days, 2): the 90 % interval of the next trial's chance before each block, and that chance.
    """

    forecast: Array
    chance: Array
    low: Array
    high: Array
    true: Array

    def join(self, other: "Foretold") -> "Foretold":
        """Return both sets of dogs as one."""
        mine, theirs = vars(self), vars(other)
        return Foretold(**{name: np.concatenate((mine[name], theirs[name])) for name in mine})


@dataclass(frozen=True)
class ForecastScore:
    """One day's forecasts: Brier score, its skill against the base rate, the best that can be, calibration error."""

    day: int
    brier: float
    skill: float
    best_skill: float
    calibration_error: float


def follow_dogs(
    n: int,
    *,
    seed: int,
    rate_factor: float = 1.0,
    prior: Prior | None = None,
    truths: tuple[Truth, ...] = KNOWN_TRUTHS,
    each: Callable[[], None] = lambda: None,
) -> Foretold:
    """Return what the engine says of n dogs of each family in regime "mod". Deterministic for a seed.

    rate_factor: the dogs learn at this factor of the rates drawn; `each` is called after every dog.
    """
    found: Foretold | None = None
    for truth in truths:
        world = _quiet(world_of("mod", truth), rate_factor)
        told = _follow(world, n, np.random.default_rng((seed, list(Truth).index(truth))), prior, each)
        found = told if found is None else found.join(told)
    assert found is not None  # noqa: S101  there is one family at least
    return found


def _quiet(world: World, rate_factor: float) -> World:
    regime: Regime = replace(world.regime, rate_factor=rate_factor)
    return replace(world, regime=regime, p_missed=0.0, prerequisites=(), latency=False)


def _follow(world: World, n: int, rng: np.random.Generator, prior: Prior | None, each: Callable[[], None]) -> Foretold:
    dogs, chance = draw_dogs(world, n, rng), draw_chance(world, n, rng)
    kennel = Kennel(world, dogs, chance)
    level = np.zeros(n, dtype=np.int64)
    rows, first = np.arange(n), np.zeros(n, dtype=np.int64)
    levels = np.zeros((n, N_DAYS, BLOCKS_A_SESSION), dtype=np.int64)
    met = np.zeros((*levels.shape, BLOCK), dtype=bool)
    true = np.zeros(levels.shape)
    for day in range(N_DAYS):
        form = chance.form[:, day]
        for block in range(BLOCKS_A_SESSION):
            tired = tiredness(block, first, first)
            levels[:, day, block] = level
            true[:, day, block] = kennel.p(rows, first, level, form=form, tired=tired)
            met[:, day, block], _ = kennel.train(rows, first, level, form=form, tired=tired)
            n_met = met[:, day, block].sum(-1)
            level = np.clip(level + (n_met >= MET_TO_RAISE) - (n_met <= MET_TO_LOWER), 0, N_LEVELS - 1)
        kennel.overnight(day)
    told = []
    for dog in range(n):
        spacing, goal = SPACINGS[dogs.spacing_index[dog, 0]], int(dogs.goal[dog, 0])
        told.append(_foretell(spacing, goal, levels[dog], met[dog], prior or shipped_prior()))
        each()
    forecast, low, high = (np.array(part) for part in zip(*told, strict=True))
    return Foretold(forecast, kennel.goal_chances()[:, 0], low, high, true)


def _foretell(spacing: float, goal: int, levels: Whole, met: Flags, prior: Prior) -> tuple[list[float], Array, Array]:
    """Return one dog's forecasts, and the interval before every block."""
    keys = tuple(chr(ord("a") + i) for i in range(N_LEVELS))
    ladder = Ladder(keys, spacing * np.arange(float(N_LEVELS)), np.zeros(N_LEVELS))
    state = DogState(prior, UTC, {BEHAVIOUR: ladder}, log_models=np.log(np.maximum(prior.models, 1e-12)))
    assert len(prior.models) == len(MODELS)  # noqa: S101
    forecasts: list[float] = []
    low, high = np.zeros(levels.shape), np.zeros(levels.shape)
    for day in range(N_DAYS):
        for block in range(BLOCKS_A_SESSION):
            at = START + timedelta(days=day, minutes=block)
            now, step = at_moment(state, BEHAVIOUR, now=at), int(levels[day, block])
            if day in FORECAST_DAYS and block == 0:
                ready = run_course(now, step, Sessions((1,) * (N_DAYS - day)))
                forecasts.append(float(chances_in_test(ready, spacing * goal, goal).mean()))
            tired = float(tiredness(block, np.zeros(1, np.int64), np.zeros(1, np.int64))[0])
            low[day, block], high[day, block] = read_step(now, step, tired=tired).interval()
            state = fold(state, _trials(keys[step], met[day, block], at, day))
    return forecasts, low, high


def _trials(step: str, met: Flags, at: datetime, day: int) -> list[Trial]:
    return [
        Trial(
            event_id=f"{at.isoformat()}-{i}",
            session_id=f"day-{day}",
            at=at + timedelta(seconds=i),
            behaviour=BEHAVIOUR,
            step=step,
            outcome=Outcome.MET if is_met else Outcome.MISSED,
            kind=SessionKind.TRAINING,
        )
        for i, is_met in enumerate(met)
    ]


def score_forecasts(told: Foretold, rng: np.random.Generator) -> list[ForecastScore]:
    """Return the scores of each forecast day; rng draws whether each goal is met, from its true chance.

    Source: Brier, 1950; calibration error over ten bins of equal width, as Naeini, Cooper and Hauskrecht, 2015.
    """
    met = (rng.random(len(told.chance)) < told.chance).astype(float)
    base = float(met.var())
    best = float((told.chance * (1.0 - told.chance)).mean())
    scores = []
    for i, day in enumerate(FORECAST_DAYS):
        said = told.forecast[:, i]
        brier = float(((said - met) ** 2).mean())
        error = calibration_error(said, met)
        scores.append(ForecastScore(day, brier, 1.0 - brier / base, 1.0 - best / base, error))
    return scores


def calibration_error(said: Array, met: Array) -> float:
    """Return the mean distance, over ten bins of the chance said, from what was said to what came."""
    bins = np.minimum(N_CALIBRATION_BINS - 1, (said * N_CALIBRATION_BINS).astype(np.intp))
    n = np.bincount(bins, minlength=N_CALIBRATION_BINS)
    gap = np.bincount(bins, said - met, N_CALIBRATION_BINS)
    return float(np.abs(gap).sum() / n.sum())


def coverage(told: Foretold) -> tuple[float, float]:
    """Return the share of true chances inside the 90 % interval, in the first seven days and in the last seven."""
    inside = (told.true >= told.low) & (told.true <= told.high)
    return float(inside[:, :EARLY_UNTIL_DAY].mean()), float(inside[:, -EARLY_UNTIL_DAY:].mean())
