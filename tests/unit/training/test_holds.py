"""Timed tries: what is believed of them, and what is asked for next."""

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.holds import RECENT_HOLDS, believe_holds, fleshler_hoffman, next_target
from pupilage.core.training.record.evidence import Hold


def released(*seconds: float) -> list[Hold]:
    return [Hold(s, s, broke=False) for s in seconds]


def broke(*seconds: float) -> list[Hold]:
    return [Hold(s, s + 1.0, broke=True) for s in seconds]


def test_releases_add_seconds_and_breaks_add_both():
    belief = believe_holds(20.0, [*released(10.0, 5.0), *broke(3.0)])
    assert (belief.shape, belief.exposure_s, belief.n_broke) == (2.0, 3.0 + 18.0, 1)


def test_only_recent_holds_count():
    assert believe_holds(20.0, [*broke(1.0), *released(*[2.0] * RECENT_HOLDS)]).n_broke == 0


def test_chance_falls_with_duration_and_the_median_is_held_with_even_chance():
    belief = believe_holds(20.0, [*released(10.0, 5.0), *broke(3.0)])
    assert belief.chance_to_hold(0.0) == 1.0
    assert belief.chance_to_hold(5.0) > belief.chance_to_hold(10.0)
    assert belief.chance_to_hold(belief.median_s) == pytest.approx(0.5)


def test_very_first_hold_is_tiny():
    found = next_target(30.0, [], n_in_session=0)
    assert found.target_s <= 1.5
    assert found.p_hold >= 0.8
    assert str(found.reason) == f"No holds yet: ask for {found.target_s:g} s, so that it is easily won."


def test_new_position_may_begin_with_a_tenth_of_a_second():
    assert next_target(1.0, [], n_in_session=0).target_s == 0.1
    assert next_target(0.0, [], n_in_session=3).target_s == 0.1


def test_targets_vary_and_repeat_the_same_way():
    holds = released(*[20.0] * 10)
    asked = [next_target(30.0, holds, n_in_session=n).target_s for n in range(16)]
    assert asked[:8] == asked[8:]
    assert len(set(asked[:8])) >= 6
    assert min(asked) < 10.0 < 30.0 < max(asked) <= 45.0


def test_list_as_a_whole_is_held_about_eight_times_in_ten():
    holds = [*broke(6.0), *released(10.0, 12.0, 8.0, 15.0)]
    chances = [next_target(60.0, holds, n_in_session=n).p_hold for n in range(8)]
    assert min(chances) >= 0.6
    assert sum(chances) / 8 == pytest.approx(0.8, abs=0.05)


def test_target_stays_within_twice_the_best_recent_hold():
    assert max(next_target(60.0, released(2.0), n_in_session=n).target_s for n in range(8)) <= 4.0


def test_after_a_break_the_next_one_is_short():
    holds = [*released(*[10.0] * 8), *broke(4.0)]
    longest = max(next_target(20.0, holds, n_in_session=n).target_s for n in range(8))
    assert longest <= believe_holds(20.0, holds).duration_held_with(0.7) / 2
    assert "The last one broke at 4.0 s" in str(next_target(20.0, holds, n_in_session=0).reason)


def test_settled_dog_is_asked_for_the_criterion_and_somewhat_beyond():
    asked = [next_target(10.0, released(*[15.0] * 20), n_in_session=n).target_s for n in range(8)]
    assert max(asked) == 15.0
    assert sum(seconds >= 10.0 for seconds in asked) >= 3


def test_reason_gives_the_chance_in_percent():
    assert "% of the time" in str(next_target(10.0, released(5.0), n_in_session=1).reason)


def test_list_is_short_to_long_with_its_mean():
    values = fleshler_hoffman(8, 1.0)
    assert list(values) == sorted(values)
    assert sum(values) / 8 == pytest.approx(1.0)


@pytest.mark.parametrize("criterion", [-1.0, float("nan"), float("inf")])
def test_duration_that_cannot_be_is_refused(criterion):
    with pytest.raises(InvalidInput, match="criterion_duration_s"):
        next_target(criterion, [], n_in_session=0)


def test_all_problems_are_reported_at_once():
    with pytest.raises(InvalidInput) as raised:
        believe_holds(-1.0, [*released(float("nan")), *broke(-2.0)])
    assert len(raised.value.problems) == 3


def test_negative_count_is_refused():
    with pytest.raises(InvalidInput, match="n_in_session"):
        next_target(5.0, [], n_in_session=-1)
