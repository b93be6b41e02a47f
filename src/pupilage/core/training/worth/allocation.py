"""Which behaviour gets the next session: the value of one more session of each, today, at the price of a session.

The index of a behaviour is Q(train now, at its best level) − Q(no more today), averaged over what is believed; the
price λ is the one at which the believed worth of all sessions left just balances their number.
Source (from memory): Whittle, 1988, "Restless bandits"; Hawkins, 2003. No test checks it yet.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.training.posterior.learners import Floats

Reals = NDArray[np.floating[Any]]
Flags = NDArray[np.bool_]
Whole = NDArray[np.int64]

NONE = -1
TIE = 1e-9


def price_index(values: Floats, prices: Floats, n_sessions: Floats) -> Whole:
    """Return the place of the price that balances the sessions left: argmin over λ of λ N + Σ_b V_b(λ).

    values (dogs, prices): believed values summed over behaviours; n_sessions (dogs,): sessions still to come.
    """
    return np.asarray((prices * n_sessions[:, None] + values).argmin(1))


def balanced_price(values: Floats, prices: Floats, n_sessions: Floats) -> Floats:
    """Return the place of the price that balances the sessions left, between the prices of the list: (dogs,).

    Model: the sessions wanted at price λ are −dV/dλ; between two prices their mean is the difference quotient, and
    the place is found by linear interpolation between the middles. Parameters as for `price_index`.
    """
    wanted = -np.diff(values, axis=1) / np.diff(prices)
    more = np.logical_and.accumulate(wanted > n_sessions[:, None], axis=1)
    n_above = more.sum(1)
    dogs, last = np.arange(len(values)), wanted.shape[1] - 1
    above = wanted[dogs, np.clip(n_above - 1, 0, last)]
    below = wanted[dogs, np.clip(n_above, 0, last)]
    part = np.clip((above - n_sessions) / np.maximum(above - below, 1e-9), 0.0, 1.0)
    place = np.where(n_above > last, last + 1.0, n_above - 0.5 + part)
    return np.where(n_above == 0, 0.0, place)


def session_index(by_level: Reals, rest: Reals, price: Floats) -> Floats:
    """Return what one more session of each behaviour adds, in goals: (dogs, behaviours), its price not subtracted.

    by_level (dogs, behaviours, levels): believed value of training at each level, price paid; rest the value of no
    more today (dogs, behaviours); price (dogs,).
    """
    return np.asarray(by_level.max(-1) - rest + price[:, None], dtype=np.float64)


def best_behaviour(index: Floats, allowed: Flags, sessions_today: Whole) -> Whole:
    """Return the behaviour with the largest index of those allowed, −1 where none adds anything.

    Ties go to the behaviour with fewer sessions today.
    """
    masked = np.where(allowed & (index > 0.0), index - TIE * sessions_today, -np.inf)
    best = masked.argmax(1)
    return np.where(np.isfinite(masked.max(1)), best, NONE)
