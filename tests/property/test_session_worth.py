"""What must hold of prices, bounds and moves for any figures."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pupilage.core.training.worth.allocation import balanced_price, price_index
from pupilage.core.training.worth.moves import onto_grid
from pupilage.core.training.worth.values import PRICES, bound_of

GRID = np.linspace(-0.9, 6.5, 75)
LISTED = np.asarray(PRICES)
inside = st.floats(min_value=-0.9, max_value=6.5)
worths = st.lists(st.floats(min_value=0.0, max_value=2.0), min_size=1, max_size=30)


def values_of(steps):
    """Return the worth at each price of a stay whose sessions add these figures, the best first: (1, prices)."""
    return np.maximum(0.0, np.asarray(steps)[:, None] - LISTED).sum(0)[None]


@settings(max_examples=60, deadline=None)
@given(points=st.lists(inside, min_size=1, max_size=6), weights=st.lists(st.floats(0.01, 1.0), min_size=6, max_size=6))
def test_spread_on_the_grid_keeps_mass_and_mean(points, weights):
    at, share = np.array([points]), np.array([weights[: len(points)]])
    spread = onto_grid(GRID, at, share)[0]
    assert spread.sum() == pytest.approx(share.sum(), rel=1e-9)
    assert spread @ GRID == pytest.approx((at * share).sum(), rel=1e-9, abs=1e-9)
    assert (spread >= 0.0).all()


@settings(max_examples=60, deadline=None)
@given(steps=worths, n=st.integers(0, 40), more=st.integers(1, 10))
def test_more_sessions_never_lower_the_bound_nor_raise_the_price(steps, n, more):
    values = values_of(steps)
    few, many = np.array([float(n)]), np.array([float(n + more)])
    assert bound_of(values, LISTED, many)[0] >= bound_of(values, LISTED, few)[0]
    assert price_index(values, LISTED, many)[0] <= price_index(values, LISTED, few)[0]
    assert balanced_price(values, LISTED, many)[0] <= balanced_price(values, LISTED, few)[0] + 1e-9


@settings(max_examples=60, deadline=None)
@given(steps=worths, n=st.integers(0, 40))
def test_bound_is_never_below_what_the_best_sessions_add(steps, n):
    best = float(np.sort(steps)[::-1][:n].sum())
    assert bound_of(values_of(steps), LISTED, np.array([float(n)]))[0] >= best - 1e-9
