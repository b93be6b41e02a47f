"""Policies beside each other at equal outings, and whether the chosen risk is really carried."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from pupilage.core.care.toilet.rates import Floats
from pupilage.core.errors import InvalidInput
from pupilage.core.simulation.outings.policies import ByModel, Interval
from pupilage.core.simulation.outings.stay import N_DAYS, Counts, Policy, Pups, World, draw_pups, live

RISKS = (0.02, 0.05, 0.10)
INTERVALS_MIN = (30.0, 42.0, 60.0, 90.0)
OUTINGS_A_DAY = (15.0, 20.0)
AGES_WEEKS = ((8, 10), (10, 12), (12, 14), (14, 17))
N_DRAWS = 400
"""Draws of pups with replacement, for standard errors of ratios and of interpolated figures."""

LEAST_FEWER, MOST_MORE = 0.15, 0.03
"""At least 15 % fewer accidents than the interval with event rules; within 3 % of knowing the pup."""

OTHER_WORLDS = {
    "twice the hazard": World(hazard_times=2.0),
    "half the hazard": World(hazard_times=0.5),
    "twice as ready outdoors": World(pull_times=2.0),
    "half as ready outdoors": World(pull_times=0.5),
    "urge grows with the square of time": World(power=2.0),
    "sleep dry half as long again": World(resting_times=1.5),
}


@dataclass(frozen=True)
class Line:
    """A figure of the bench. target and reached: None where there is no goal."""

    what: str
    setting: str
    value: float
    error: float | None = None
    target: str = ""
    reached: bool | None = None


@dataclass(frozen=True)
class Runs:
    """Runs of one policy at several settings on the same pups, from many outings to few; by pup and a day."""

    outings: Floats
    accidents: Floats

    def accidents_at(self, outings_a_day: float, pups: np.ndarray) -> float:
        """Return the accidents a day of some of the pups at so many outings, between two settings.

        Model: the log of accidents is linear in outings between neighbouring settings.
        """
        outings, accidents = self.outings[:, pups].mean(axis=1), self.accidents[:, pups].mean(axis=1)
        order = np.argsort(outings)
        return float(np.exp(np.interp(outings_a_day, outings[order], np.log(accidents[order]))))


def n_parts() -> int:
    """Return how many simulated days `compare` reports, one call of `each_day` each."""
    return N_DAYS * (len(INTERVALS_MIN) + 3 * len(RISKS) + 1 + len(OTHER_WORLDS))


def compare(n_pups: int, *, seed: int, each_day: Callable[[], None] = lambda: None) -> list[Line]:
    """Return the lines of the bench for so many pups: equal outings, the risk carried, and other worlds.

    Raises: InvalidInput for fewer than 50 pups or more than 20,000.
    """
    if not 50 <= n_pups <= 20_000:
        raise InvalidInput.of("pups", "{n} pups cannot be compared; give 50 to 20000.", n=n_pups)
    pups = draw_pups(n_pups, World(), np.random.default_rng(seed))
    rng = np.random.default_rng([seed, 1])

    def run(policy: Policy, those: Pups = pups) -> Counts:
        return live(those, policy, seed=seed, each_day=each_day)

    by_interval = [run(Interval(minutes)) for minutes in INTERVALS_MIN]
    ours = [run(ByModel(pups, risk)) for risk in RISKS]
    knowing = [run(ByModel(pups, risk, knowing=True)) for risk in RISKS]
    ruled = [run(ByModel(pups, risk, hard_rules=True)) for risk in RISKS]
    lines = list(_equal_outings(_runs(by_interval), _runs(ours), _runs(knowing), rng))
    for week in range(N_DAYS // 7):
        lines += _beside_knowing(_runs(ours, week), _runs(knowing, week), rng, f", week {week + 1}")
    for risk, counts, strict in zip(RISKS, ours, ruled, strict=True):
        lines += _carried(pups, risk, counts)
        lines.append(_ruled("ours with the rules of the page", risk, strict))
    lines.append(_ruled("a success taken for the pup's own moment", 0.05, run(ByModel(pups, 0.05, naive=True))))
    for name, world in OTHER_WORLDS.items():
        others = draw_pups(max(50, n_pups // 5), world, np.random.default_rng(seed))
        lines += _weeks(name, run(ByModel(others, 0.05), others))
    return lines


def _runs(counts: list[Counts], week: int | None = None) -> Runs:
    days = slice(None) if week is None else slice(7 * week, 7 * week + 7)
    return Runs(
        np.array([one.outings[days].mean(axis=0) for one in counts]),
        np.array([one.accidents[days].mean(axis=0) for one in counts]),
    )


def _equal_outings(interval: Runs, ours: Runs, knowing: Runs, rng: np.random.Generator) -> Iterator[Line]:
    runs = {"interval + event rules": interval, "ours": ours, "knowing the pup": knowing}
    draws = _draws(ours, rng)
    for outings in OUTINGS_A_DAY:
        setting = f"{outings:.0f} outings a day"
        found = np.array([[one.accidents_at(outings, pups) for one in runs.values()] for pups in draws])
        for name, column in zip(runs, found.T, strict=True):
            yield Line(f"accidents a day, {name}", setting, column[0], float(column[1:].std()))
        fewer = 1.0 - found[:, 1] / found[:, 0]
        yield Line(
            "fewer than interval + event rules", setting, fewer[0], float(fewer[1:].std()),
            f"at least {LEAST_FEWER}", bool(fewer[0] >= LEAST_FEWER),
        )  # fmt: skip
    yield from _beside_knowing(ours, knowing, rng, "")


def _beside_knowing(ours: Runs, knowing: Runs, rng: np.random.Generator, when: str) -> Iterator[Line]:
    draws = _draws(ours, rng)
    for outings in OUTINGS_A_DAY:
        more = np.array([ours.accidents_at(outings, d) / knowing.accidents_at(outings, d) - 1.0 for d in draws])
        yield Line(
            f"more than knowing the pup{when}", f"{outings:.0f} outings a day", float(more[0]), float(more[1:].std()),
            f"at most {MOST_MORE}", bool(more[0] <= MOST_MORE),
        )  # fmt: skip


def _draws(runs: Runs, rng: np.random.Generator) -> list[np.ndarray]:
    """Return all pups, and draws of pups with replacement."""
    n = runs.outings.shape[1]
    return [np.arange(n), *rng.integers(0, n, (N_DRAWS, n))]


def _carried(pups: Pups, risk: float, counts: Counts) -> Iterator[Line]:
    """Yield the share of waits between outings that ended in an accident, in all, by age, week and last outing."""
    setting = f"risk {risk:.0%}"
    everything = np.ones_like(counts.outings, dtype=bool)
    yield _share("risk carried", setting, counts, everything)
    age = pups.arrival_weeks + np.arange(N_DAYS)[:, None] / 7.0
    for low, high in AGES_WEEKS:
        yield _share(f"risk carried, {low} to {high} weeks old", setting, counts, (age >= low) & (age < high))
    yield from _weeks("", counts, setting)
    yield Line(
        "risk carried after an empty trip", setting,
        float(counts.accidents_after_empty.sum() / (counts.empty.sum())),
    )  # fmt: skip


def _weeks(name: str, counts: Counts, setting: str = "risk 5%") -> Iterator[Line]:
    week = np.arange(N_DAYS)[:, None] // 7 + np.zeros_like(counts.outings)
    for number in range(N_DAYS // 7):
        what = ", ".join(part for part in ("risk carried", name, f"week {number + 1}") if part)
        yield _share(what, setting, counts, week == number)


def _share(what: str, setting: str, counts: Counts, where: np.ndarray) -> Line:
    """Return accidents for each wait, with the standard error of a ratio over pups."""
    accidents = np.where(where, counts.accidents, 0.0).sum(axis=0)
    waits = np.where(where, counts.accidents + counts.outings, 0.0).sum(axis=0)
    share = accidents.sum() / waits.sum()
    n = np.count_nonzero(waits)
    error = np.sqrt(np.sum((accidents - share * waits) ** 2) * n / max(1, n - 1)) / waits.sum()
    return Line(what, setting, float(share), float(error))


def _ruled(name: str, risk: float, counts: Counts) -> Line:
    outings, accidents = counts.outings.mean(), counts.accidents.mean()
    return Line(f"accidents a day, {name}", f"risk {risk:.0%}, {outings:.1f} outings", float(accidents))
