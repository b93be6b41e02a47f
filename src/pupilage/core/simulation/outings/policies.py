"""When to take a pup out: every so many minutes with event rules, by the model, by the model that knows the pup."""

import numpy as np

from pupilage.core.care.toilet import opportunity
from pupilage.core.care.toilet.curve import CELL_EVENTS, CUTS, N_STRETCHES, OWN_EVENTS, POWER, Doing
from pupilage.core.care.toilet.hazards import Hazards
from pupilage.core.care.toilet.opportunity import Wait
from pupilage.core.care.toilet.rates import Floats, Rates
from pupilage.core.simulation.outings.days import STEP_MIN
from pupilage.core.simulation.outings.stay import Bools, Now, Pups, Seen

N_CELLS = 2 * N_STRETCHES
"""Awake and resting; the simulated days have no nights."""

SURE = 1e9
"""A shape so large that the factor is known."""


class Interval:
    """Every so many minutes while awake, and at once after every nap and meal."""

    def __init__(self, minutes: float) -> None:
        self.minutes = minutes

    def begin_day(self, scale_min: dict[Doing, Floats]) -> None:
        """Nothing carries over."""

    def wants_out(self, now: Now) -> Bools:
        """Return which pups go out now."""
        return ~now.resting & ((now.since_outing_min >= self.minutes) | now.woke | now.ate)

    def saw(self, seen: Seen) -> None:
        """Learns nothing."""


class ByModel:
    """As soon as the chance of an accident since the last outing would pass the risk before the middle of a step.

    knowing: each pup's own factor is known from the first day. hard_rules: out after every nap, meal and bout of play
    in any case. naive: a success is taken for the moment at which the pup would have gone by itself.
    """

    def __init__(
        self, pups: Pups, risk: float, *, knowing: bool = False, hard_rules: bool = False, naive: bool = False
    ) -> None:
        cells = np.full((pups.n, N_CELLS), SURE if knowing else CELL_EVENTS)
        told, seen = np.full(pups.n, OWN_EVENTS), np.zeros(pups.n)
        if knowing:
            told, seen = told * pups.hazard, np.full(pups.n, SURE)
        self.hazards = Hazards(told, np.full(pups.n, OWN_EVENTS), seen * pups.hazard, seen, Rates(cells, cells.copy()))
        self.risk, self.learns, self.hard_rules, self.naive = risk, not knowing, hard_rules, naive
        self.every = np.arange(pups.n)
        unused = (np.zeros(pups.n), np.zeros(pups.n))
        self.wait = Wait(np.zeros((pups.n, N_CELLS)), np.ones(pups.n), (unused,) * opportunity.MAX_EMPTY, unused[0])
        self.expected, self.anchor = np.zeros(pups.n), np.zeros(pups.n)

    def begin_day(self, scale_min: dict[Doing, Floats]) -> None:
        """Begin after a successful outing."""
        self.scale_min = scale_min
        self._restart(np.ones(len(self.every), dtype=bool))

    def wants_out(self, now: Now) -> Bools:
        """Return which pups go out now."""
        self.now = now
        step, self.cell = self._step(now.tau_min)
        ahead = self.expected + 0.5 * step * self.hazards.cells.mean[self.every, self.cell]
        p_by_then = -np.expm1(opportunity.log_waiting(self.hazards, self.wait, ahead) - self.anchor)
        out: Bools = (p_by_then > self.risk) & (now.since_outing_min > 0.0)
        if self.hard_rules:
            out |= ~now.resting & (now.woke | now.ate | now.played)
        return out

    def saw(self, seen: Seen) -> None:
        """Learn from what came of the outings, and from the accidents in the step after them."""
        if seen.success.any():
            self._learn(seen.success, self._as_accident(seen.success) if self.naive else opportunity.after_success)
            self._restart(seen.success)
        if seen.empty.any():
            self._empty_trip(seen.empty)
        step, cell = self._step(np.where(seen.success, 0.0, self.now.tau_min))
        self.wait.exposure[self.every, cell] += step
        self.expected = self.expected + step * self.hazards.cells.mean[self.every, cell]
        if seen.accident.any():
            self.cell = cell
            self._learn(seen.accident, self._as_accident(seen.accident))
            self._restart(seen.accident)

    def _as_accident(self, which: Bools) -> opportunity.Learn:
        shares = np.zeros_like(self.wait.exposure)
        shares[self.every, self.cell] = 1.0
        return lambda hazards, wait: opportunity.after_accident(hazards, wait, shares[which])

    def _empty_trip(self, which: Bools) -> None:
        told = opportunity.with_empty_trip(self.hazards, self.wait)
        empty = tuple(
            (np.where(which, new, old), np.where(which, new_weight, old_weight))
            for (new, new_weight), (old, old_weight) in zip(told.empty, self.wait.empty, strict=True)
        )
        self.wait = Wait(
            self.wait.exposure,
            np.where(which, told.p_untold, self.wait.p_untold),
            empty,
            np.where(which, told.at_risk, self.wait.at_risk),
        )
        log_now = opportunity.log_waiting(self.hazards, self.wait, self.expected)
        self.anchor = np.where(which, log_now, self.anchor)

    def _learn(self, which: Bools, learn: opportunity.Learn) -> None:
        if not self.learns:
            return
        old, cells = self.hazards, self.hazards.cells
        part = Hazards(
            old.told_shape[which],
            old.told_worth[which],
            old.n_seen[which],
            old.seen[which],
            Rates(cells.shape[which], cells.worth[which]),
        )
        empty = tuple((here[which], weight[which]) for here, weight in self.wait.empty)
        wait = Wait(self.wait.exposure[which], self.wait.p_untold[which], empty, self.wait.at_risk[which])
        new = learn(part, wait)
        self.hazards = Hazards(
            _put(old.told_shape, which, new.told_shape),
            _put(old.told_worth, which, new.told_worth),
            _put(old.n_seen, which, new.n_seen),
            _put(old.seen, which, new.seen),
            Rates(_put(cells.shape, which, new.cells.shape), _put(cells.worth, which, new.cells.worth)),
        )

    def _restart(self, which: Bools) -> None:
        keep = np.where(which, 0.0, 1.0)
        self.wait.exposure[which] = 0.0
        empty = tuple((here * keep, weight * keep) for here, weight in self.wait.empty)
        untold = np.where(which, 1.0, self.wait.p_untold)
        self.wait = Wait(self.wait.exposure, untold, empty, self.wait.at_risk * keep)
        self.expected = self.expected * keep
        self.anchor = self.anchor * keep

    def _step(self, tau_min: Floats) -> tuple[Floats, np.ndarray]:
        """Return the exposure of the coming step and the cell that its middle falls into."""
        resting = self.now.resting
        scale = np.where(resting, self.scale_min[Doing.RESTING], self.scale_min[Doing.AWAKE])
        low, high = tau_min / scale, (tau_min + STEP_MIN) / scale
        stretch = np.searchsorted(CUTS, 0.5 * (low + high))
        return self.now.times * (high**POWER - low**POWER), np.where(resting, N_STRETCHES + stretch, stretch)


def _put(values: Floats, which: Bools, found: Floats) -> Floats:
    """Return the values with those of some pups replaced."""
    changed = values.copy()
    changed[which] = found
    return changed
