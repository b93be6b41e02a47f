"""What one more session of a behaviour is worth today, at each step it could begin with, in goals at the hand-over.

**Model**: index of a restless bandit at a price λ a session: Q(a session now, begun at a step, going on well) − Q(no
more today), from `session_tables`, averaged over the posterior of this dog. The average takes the pup's kind and pace
as if they were to be known tomorrow; what a session teaches the trainer about the pup is not counted.
Source (from memory): Whittle, 1988, "Restless bandits"; Hawkins, 2003. Checked in
tests/unit/training/test_session_values.py and, the tables' equations, tests/external/test_allocation.py.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day, require_aware
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.learners import Family, Floats
from pupilage.core.training.posterior.state import Now
from pupilage.core.training.record.history import require_step
from pupilage.core.training.worth.allocation import balanced_price
from pupilage.core.training.worth.session_tables import PRICES, Ranges, tables_for

STAYS = (7, 14, 21, 28, 42, 56)
"""Tables are made for a stay of so many days, so that they need not be made anew every day. A day further away than
the longest is valued as if it were the longest."""


@dataclass(frozen=True)
class SessionWorth:
    """What one more session today is expected to add to the chance of a goal.

    by_step: for each step that the session could begin with, its price not subtracted; below 0 where no session at
    all would be better. best: the place of the best step. by_price: what the behaviour is worth from now on at each
    of `session_tables.PRICES`, for `balancing_price`.
    """

    by_step: Floats
    by_price: Floats

    @property
    def best(self) -> int:
        """Return the place of the best step to begin with."""
        return int(self.by_step.argmax())

    @property
    def gain(self) -> float:
        """Return the index: what the best session adds."""
        return float(self.by_step.max())

    def at(self, price: float) -> float:
        """Return what the behaviour is worth from now on at a price a session, 0 to 0.15."""
        return float(np.interp(price, PRICES, self.by_price))


def worth_of_a_session(
    known: Knowledge, behaviour: Behaviour, *, target_step: str, days_left: int, price: float, now: datetime
) -> SessionWorth:
    """Return what one more session of a behaviour is worth today.

    Parameters: target_step, the goal's; days_left, days with sessions still to come, today included, 0 or more;
    price, goals a session, 0 to 0.15, what a session elsewhere would bring (see `balancing_price`).
    A second session of the day is valued as such; a third as a second. Up to 85 ms for the first question about a
    behaviour of a stay of three weeks, 160 ms for eight weeks; 5 ms on another day, 1 ms after another trial.
    Raises: InvalidInput for an unknown step, negative days, a price outside its range, or an instant without a zone.
    """
    now = require_aware(now, "now")
    require_step(behaviour, target_step, "target_step")
    _require_figures(days_left, price)
    moment = known.at(behaviour.key, now)
    ranges = ranges_of(moment, behaviour.step_index(target_step) or 0, days_left)
    if days_left == 0:
        return SessionWorth(np.zeros(len(ranges.deltas)), np.full(len(PRICES), _chance_today(moment, ranges)))
    day = min(days_left, ranges.n_days)
    n_today = min(1, _sessions_today(known, behaviour.key, now))
    by_step, by_price = np.zeros(len(ranges.deltas)), np.zeros(len(PRICES))
    for family, mass in _kept_masses(known, behaviour.key, moment, ranges, now).items():
        offer = tables_for(ranges)[family].today(day)[n_today]
        flat = mass.ravel().astype(np.float32)
        by_step += _at_price(np.tensordot(flat, offer.gain, 1), price)
        by_price += flat @ offer.best
    return SessionWorth(by_step + price, by_price)


def _kept_masses(known: Knowledge, behaviour: str, moment: Now, ranges: Ranges, now: datetime) -> dict[Family, Floats]:
    day = local_day(now, known.state.zone)
    return known.keep(("masses", behaviour, day, ranges), lambda: masses(moment, ranges))


def _chance_today(moment: Now, ranges: Ranges) -> float:
    """Return the chance of the goal in a test today."""
    tests = {family: tables_for(ranges)[family].mornings[-1, :, :, 0] for family in Family}
    return float(sum((mass * tests[family]).sum() for family, mass in masses(moment, ranges).items()))


def balancing_price(worths: Sequence[SessionWorth], n_sessions: int) -> float:
    """Return the price at which the sessions worth having are as many as are left.

    Model: argmin over λ of λ N + Σ V(λ), read between the PRICES: see `allocation.balanced_price`.
    n_sessions: of all behaviours together until the hand-over, 0 or more. Raises InvalidInput for fewer.
    """
    if n_sessions < 0:
        raise InvalidInput.of("n_sessions", "{given} sessions cannot be left; give 0 or more.", given=n_sessions)
    total = np.sum([worth.by_price for worth in worths], axis=0) if worths else np.zeros(len(PRICES))
    place = balanced_price(total[None], PRICES, np.array([float(n_sessions)]))[0]
    return float(np.interp(place, np.arange(len(PRICES)), PRICES))


def ranges_of(moment: Now, target: int, days_left: int) -> Ranges:
    """Return what the tables of a behaviour depend on."""
    prior = moment.grid.prior
    n_days = next((days for days in STAYS if days >= days_left), STAYS[-1])
    rates = tuple(float(rate) for rate in prior.rates)
    deltas = tuple(float(delta) for delta in moment.ladder.delta)
    return Ranges(deltas, target, rates, float(prior.half_lives[0]), prior.base, n_days)


def masses(moment: Now, ranges: Ranges) -> dict[Family, Floats]:
    """Return the posterior on the tables' grid: (rates, states, half-lives) by family; all together add up to 1.

    Model: linear spreading in the skill and in the logarithm of the half-life; forms and laws are summed.
    """
    weight, mastery = moment.joint
    grid, prior = moment.grid, moment.grid.prior
    by_cell = weight.sum(0)
    by_level = mastery.sum((0, 1)).reshape(len(prior.rates), len(prior.half_lives), -1)
    on_lives = _life_shares(prior.half_lives * float(learners.growth_of(grid.growth_hits)), ranges)
    return {
        Family.TOWARD_LEVEL: _by_skill(grid.skill[:2], by_cell[:2], ranges, on_lives),
        Family.PER_SUCCESS: _by_skill(grid.skill[2:], by_cell[2:], ranges, on_lives),
        Family.BY_LEVELS: np.einsum("rhn,hl->rnl", by_level, on_lives),
    }


def _life_shares(half_lives: Floats, ranges: Ranges) -> Floats:
    """Return how much of each half-life falls to each of the tables' (half-lives, lives), linear in the logarithm."""
    lives = ranges.lives
    place = np.interp(np.log(half_lives), np.log(lives), np.arange(float(len(lives))))
    return np.asarray(np.maximum(0.0, 1.0 - np.abs(place[:, None] - np.arange(len(lives)))))


def _by_skill(skill: Floats, weight: Floats, ranges: Ranges, on_lives: Floats) -> Floats:
    """Return the weights (2, C) of skills on the tables' grid: (rates, states, lives)."""
    states = ranges.states(Family.TOWARD_LEVEL)
    place = np.clip((skill - states[0]) / (states[1] - states[0]), 0.0, len(states) - 1.0)
    low = np.minimum(place.astype(np.intp), len(states) - 2)
    n_rates, n_lives = len(ranges.rates), len(on_lives)
    n_pairs = n_rates * n_lives
    at = low * n_pairs + np.arange(skill.shape[1]) % n_pairs  # cells stand by skill, then rate, then half-life
    above = weight * (place - low)
    size = len(states) * n_pairs
    flat = np.bincount(at.ravel(), (weight - above).ravel(), size)
    flat += np.bincount((at + n_pairs).ravel(), above.ravel(), size)
    return np.asarray(np.einsum("srh,hl->rsl", flat.reshape(len(states), n_rates, n_lives), on_lives))


def _at_price(by_price: Floats, price: float) -> Floats:
    """Return (…, prices) at a price, linear between two of PRICES."""
    place = float(np.interp(price, PRICES, np.arange(float(len(PRICES)))))
    low = min(int(place), len(PRICES) - 2)
    part = place - low
    return np.asarray(by_price[..., low] * (1.0 - part) + by_price[..., low + 1] * part)


def _sessions_today(known: Knowledge, behaviour: str, now: datetime) -> int:
    if known.state.day != local_day(now, known.state.zone):
        return 0
    return list(known.state.sessions.values()).count(behaviour)


def _require_figures(days_left: int, price: float) -> None:
    problems = []
    if not days_left >= 0:
        problems.append(Problem("days_left", "{given} days cannot be left; give 0 or more.", given=days_left))
    if not 0.0 <= price <= float(PRICES[-1]):
        problems.append(
            Problem("price", "{given} is no price of a session; give 0 to {most}.", given=price, most=float(PRICES[-1]))
        )
    if problems:
        raise InvalidInput(problems)
