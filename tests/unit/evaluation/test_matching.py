"""Which marks are the same moment, at the edges of the tolerance; and a clock that is behind, worked by hand."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.codings import Mark
from pupilage.core.evaluation.matching import likely_shift_s, match_marks


def marks(*times_s):
    return [Mark(time_s, "sit") for time_s in times_s]


@pytest.mark.parametrize(("apart_s", "n_moments"), [(1.99, 1), (2.0, 1), (2.01, 2)])
def test_marks_up_to_the_tolerance_apart_are_one_moment(apart_s, n_moments):
    assert len(match_marks(marks(64.0), marks(64.0 + apart_s), 2.0)) == n_moments


@pytest.mark.parametrize("tolerance_s", [0.0, 60.0])
def test_tolerances_from_none_to_a_minute_are_taken(tolerance_s):
    assert len(match_marks(marks(64.0), marks(64.0), tolerance_s)) == 1


@pytest.mark.parametrize("tolerance_s", [-0.005, 60.3, float("nan")])
def test_other_tolerances_are_refused(tolerance_s):
    with pytest.raises(InvalidInput):
        match_marks(marks(64.0), marks(64.0), tolerance_s)


def test_two_more_pairs_name_a_clock_that_is_behind_and_one_more_does_not():
    assert likely_shift_s(marks(1000.0, 5000.0), marks(990.0, 4990.0), 2.0) == 10.0
    assert likely_shift_s(marks(1000.0), marks(990.0), 2.0) is None


@pytest.mark.parametrize(("n_apart", "shift_s"), [(3, 1.5), (2, None)])
def test_of_thirty_marks_a_tenth_more_have_to_meet(n_apart, shift_s):
    """All but a few are 1.5 s apart and meet already; those 2.5 s apart meet when the clock is moved."""
    one = [1000.0 + 50.0 * i for i in range(30)]
    other = [time_s - (2.5 if i < n_apart else 1.5) for i, time_s in enumerate(one)]
    assert likely_shift_s(marks(*one), marks(*other), 2.0) == shift_s


def test_the_shift_is_the_middle_of_the_densest_stretch_of_twice_the_tolerance():
    """Differences 10, 11, 14.01 and 14.02: four seconds hold the last three, and no four seconds hold all."""
    one = [1000.0, 2000.0, 4000.0, 8000.0]
    other = [990.0, 1989.0, 3985.99, 7985.98]
    assert likely_shift_s(marks(*one), marks(*other), 2.0) == 14.0
