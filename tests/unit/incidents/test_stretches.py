from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.stretches import Stretch, both, holds, hours_of, union, without

START = datetime(2026, 5, 12, tzinfo=UTC)


def at(minute):
    return START + timedelta(minutes=minute)


stretches = st.lists(
    st.tuples(st.integers(0, 120), st.integers(0, 40)).map(lambda pair: Stretch(at(pair[0]), at(pair[0] + pair[1]))),
    max_size=6,
)


@given(stretches, stretches)
def test_sets_are_those_of_single_minutes(one, other):
    for minute in range(165):
        in_one, in_other = holds(one, at(minute)), holds(other, at(minute))
        assert holds(union(one), at(minute)) == in_one
        assert holds(both(one, other), at(minute)) == (in_one and in_other)
        assert holds(without(one, other), at(minute)) == (in_one and not in_other)


@given(stretches, stretches)
def test_hours_are_counted_once(one, other):
    total = hours_of(both(one, other)) + hours_of(without(one, other))
    assert total == pytest.approx(hours_of(one), abs=1e-9)
    assert hours_of([*one, *one]) == pytest.approx(hours_of(one))


def test_stretch_that_ends_before_it_starts_is_refused():
    with pytest.raises(InvalidInput):
        Stretch(at(5), at(4))
