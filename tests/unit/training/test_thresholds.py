"""The threshold map: what it tells, what it keeps back, and how often its intervals hold the truth."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from engine_cases import MAT, daily_trials, day, hold_trials, known_of, ladder, series
from pupilage.core.catalogue.behaviour import Place
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.difficulty import PER_DOUBLING_OF_DURATION, Dimension
from pupilage.core.training.posterior.prior import shipped_prior
from pupilage.core.training.thresholds.extents import threshold
from pupilage.core.training.thresholds.information import BEYOND_TRIED, LEAST_P, MOST_P, candidates, expected_entropies
from pupilage.core.training.thresholds.ruler import WEIGHED, ruler_of, with_value
from pupilage.core.training.thresholds.threshold_map import map_thresholds
from pupilage.core.training.thresholds.weighing import WEIGHT_SD, weigh

CRITERIA = (
    (0.0, 0.5, 0, Place.QUIET_ROOM),
    (2.0, 0.5, 0, Place.QUIET_ROOM),
    (5.0, 0.5, 0, Place.QUIET_ROOM),
    (5.0, 2.0, 0, Place.QUIET_ROOM),
    (5.0, 2.0, 0, Place.HOME),
    (5.0, 2.0, 2, Place.HOME),
    (15.0, 3.0, 2, Place.GARDEN),
    (30.0, 3.0, 2, Place.GARDEN),
)


def settle(target: int = 6):
    """Return a behaviour whose list changes all four dimensions, and goes one step beyond the household level."""
    plain = ladder(*(one[0] for one in CRITERIA))
    steps = tuple(
        replace(s, criterion=replace(s.criterion, distance_m=metres, distraction=n, place=place))
        for s, (_, metres, n, place) in zip(plain.steps, CRITERIA, strict=True)
    )
    return replace(plain, steps=steps, target=steps[target].key)


SETTLE = settle()


def taught(n_days: int = 12) -> list:
    letters = ("mmmmxmmm", "mmmmmmmm", "mxmmmxmm", "mmxmmmmm")
    return [t for n in range(n_days) for t in daily_trials(SETTLE, letters[n % 4], step=min(5, n // 2), day=n)]


KNOWN = known_of(taught(), SETTLE)
NOW = day(12)


@pytest.mark.parametrize(("trials", "n"), [([], 0), (series("m"), 1), (series("xxxx"), 4), (series("vvvvvv"), 0)])
def test_under_five_tries_nothing_is_told_but_what_is_missing(trials: list, n: int) -> None:
    found = map_thresholds(known_of(trials, SETTLE), SETTLE, "a", now=NOW)
    assert not found.enough
    assert str(found.reason) == f"Not enough yet: has {n} of 5 tries."
    assert (found.here, found.household, found.dimensions, found.next_try) == (None, None, (), None)


def test_map_tells_every_dimension_and_where_its_figures_come_from() -> None:
    found = map_thresholds(KNOWN, SETTLE, "f", now=NOW)
    assert [one.dimension for one in found.dimensions] == list(WEIGHED)
    for one in found.dimensions:
        assert one.from_record
        for ends in (one.sure, one.even):
            assert ends.low <= ends.value <= ends.high <= one.most
        assert one.sure.value <= one.even.value
        low, high = one.factor[1:]
        assert low < one.factor[0] < high
    assert found.dimensions[0].tried == (0.0, 2.0, 5.0)
    assert found.dimensions[0].most == 30.0


def test_dimension_tried_at_one_value_says_that_its_figures_are_assumed() -> None:
    found = map_thresholds(known_of(daily_trials(SETTLE, "mmmmmxmm"), SETTLE), SETTLE, "a", now=NOW)
    assert not any(one.from_record for one in found.dimensions)
    assert all("assumption" in str(one.reason) for one in found.dimensions)


def test_dimension_that_the_list_never_changes_is_left_out() -> None:
    found = map_thresholds(known_of(hold_trials(*[(5.0, 5.0, False)] * 6), MAT), MAT, "a", now=NOW)
    assert [one.dimension for one in found.dimensions] == [Dimension.DURATION]
    assert set(found.unchanged) == set(WEIGHED) - {Dimension.DURATION}


def test_all_missed_bears_nothing_and_proposes_nothing_hard() -> None:
    found = map_thresholds(known_of(daily_trials(SETTLE, "x" * 30, step=5), SETTLE), SETTLE, "f", now=NOW)
    sure = {one.dimension: one.sure.value for one in found.dimensions}
    assert sure[Dimension.DISTRACTION] <= 0.0
    assert sure[Dimension.PLACE] <= 0.0
    assert found.here.mean < 0.2
    assert found.next_try is None or found.next_try.reading.mean >= LEAST_P


def test_chance_is_p_at_the_threshold_of_a_dog_known_exactly() -> None:
    """With one cell, the threshold is where p = 0.02 + 0.96 sigmoid(s - difficulty) crosses 0.8."""
    weighed = weigh(KNOWN, SETTLE, now=NOW)
    one = replace(
        weighed,
        factors=np.ones((1, 4)),
        mass=np.ones(1),
        ability=np.array([2.5]),
        point=np.zeros(1, dtype=np.intp),
        weight=np.ones(1),
        mastery=np.zeros_like(weighed.mastery),
    )
    found = threshold(one, Dimension.DURATION, 2, 0.8)
    delta = ruler_of(SETTLE).delta_at_duration(np.ones((1, 4)), 2, found.value)[0]
    assert learners.p_met(2.5, delta) == pytest.approx(0.8, abs=1e-9)
    spare = (2.5 - np.log(0.78 / 0.18)) / ruler_of(SETTLE).scale - 2 * 0.15
    expected = 2.0 ** (spare / PER_DOUBLING_OF_DURATION) - 1.0
    assert found.value == pytest.approx(expected, rel=1e-9)


def test_training_beyond_the_household_level_leaves_something_to_spare() -> None:
    found = map_thresholds(KNOWN, SETTLE, "f", now=NOW)
    after = {one.step: one for one in found.after_training}
    assert list(after) == ["f", "g", "h"]
    assert after["g"].p == pytest.approx(0.85)
    assert after["f"].p < 0.85 < after["h"].p
    assert after["h"].low <= after["h"].p <= after["h"].high


def test_target_of_a_goal_is_the_household_level() -> None:
    found = map_thresholds(KNOWN, SETTLE, "c", target="e", now=NOW)
    assert found.target == "e"
    assert found.household.mean > map_thresholds(KNOWN, SETTLE, "c", now=NOW).household.mean


def test_next_try_is_expected_to_be_met_and_leaves_least_unknown() -> None:
    found = map_thresholds(KNOWN, SETTLE, "f", now=NOW)
    assert LEAST_P <= found.next_try.reading.mean <= MOST_P
    assert found.next_try.bits > 0.0
    assert found.next_reason.figures["p"] == found.next_try.reading.mean


def test_nothing_is_proposed_beyond_twice_what_was_tried_or_more_than_a_step_ahead() -> None:
    weighed = weigh(KNOWN, SETTLE, now=NOW)
    for step in range(len(SETTLE.steps)):
        found = list(candidates(weighed, step))
        assert len({one.criterion for one in found}) == len({s.criterion for s in SETTLE.steps[: step + 2]}) + sum(
            one.dimension is not None for one in found
        )
        for one in found:
            assert one.step <= step + 1
            if one.dimension is Dimension.DURATION:
                own = SETTLE.steps[step].criterion.duration_s
                assert one.criterion.duration_s <= max(own, BEYOND_TRIED * 5.0)
            if one.dimension is not None:
                kept = with_value(one.criterion, one.dimension, 0.0)
                assert kept == with_value(SETTLE.steps[step].criterion, one.dimension, 0.0)


def test_surely_met_dog_is_told_to_raise_instead() -> None:
    known = known_of([t for n in range(20) for t in daily_trials(SETTLE, "m" * 15, step=min(7, n // 2), day=n)], SETTLE)
    found = map_thresholds(known, SETTLE, "a", now=day(20))
    if found.next_try is None:
        assert "raise" in str(found.next_reason)
    else:
        assert found.next_try.reading.mean <= MOST_P


def test_information_of_a_sure_answer_is_none() -> None:
    weight = np.full(4, 0.25)
    left = expected_entropies(np.array([[1.0] * 4, [0.0] * 4, [0.5] * 4, [1.0, 1.0, 0.0, 0.0]]), weight)
    assert left == pytest.approx([np.log(4.0), np.log(4.0), np.log(4.0), np.log(2.0)], abs=1e-9)


@pytest.mark.parametrize("step", ["gone", ""])
def test_step_or_target_that_is_not_there_is_refused(step: str) -> None:
    with pytest.raises(InvalidInput, match="no step"):
        map_thresholds(KNOWN, SETTLE, step, now=NOW)
    with pytest.raises(InvalidInput, match="no step"):
        map_thresholds(KNOWN, SETTLE, "a", target=step, now=NOW)


def test_instant_without_a_zone_is_refused() -> None:
    with pytest.raises(InvalidInput, match="time zone"):
        map_thresholds(KNOWN, SETTLE, "a", now=NOW.replace(tzinfo=None))


def test_year_without_practice_shortens_what_is_borne_and_widens_what_is_not_known() -> None:
    fresh = map_thresholds(KNOWN, SETTLE, "f", now=NOW)
    later = map_thresholds(KNOWN, SETTLE, "f", now=NOW + timedelta(days=365))
    assert later.here.mean < fresh.here.mean
    assert later.dimensions[0].sure.value <= fresh.dimensions[0].sure.value


def test_same_record_gives_the_same_map() -> None:
    one, other = (map_thresholds(known_of(taught(), SETTLE), SETTLE, "f", now=NOW) for _ in range(2))
    assert one == other


N_DOGS = 50
N_DAYS = 9


def test_intervals_hold_the_truth_about_nine_times_in_ten() -> None:
    """50 seeded dogs drawn from the prior; a share of 0.9 has a standard error of 0.042, so 0.80 is 2.4 of them.

    Durations are counted up to the most that is told; those cut off there always agree, so only the others count.
    """
    rng = np.random.default_rng(20)
    held: dict[str, list[bool]] = {"chance": [], "duration": [], "factor": []}
    for _ in range(N_DOGS):
        trials, ability, factors, step = dog_at_school(rng)
        found = map_thresholds(known_of(trials, SETTLE), SETTLE, SETTLE.steps[step].key, now=day(N_DAYS))
        ruler, duration = ruler_of(SETTLE), found.dimensions[0]
        low, high = found.here.interval()
        delta = ruler.delta(factors[None], SETTLE.steps[step].criterion, step)[0]
        held["chance"].append(low <= learners.p_met(ability, delta) <= high)
        held["factor"].append(duration.factor[1] <= factors[0] <= duration.factor[2])
        bare = ruler.delta_at_duration(factors[None], step, 0.0)[0]
        spare = ability - bare  # 0.02 + 0.96 / 2 is one half
        true_s = 2.0 ** max(0.0, spare / (ruler.scale * factors[0] * PER_DOUBLING_OF_DURATION)) - 1.0
        if 0.0 < true_s < duration.most:
            held["duration"].append(duration.even.low <= true_s <= duration.even.high)
    assert len(held["duration"]) >= 15
    for name, found in held.items():
        least = 0.9 - 2.4 * (0.09 / len(found)) ** 0.5
        assert np.mean(found) >= least, name


def dog_at_school(rng: np.random.Generator) -> tuple[list, float, np.ndarray, int]:
    """Return a dog's record, its ability on the day after, its factors and its step; taught by sets of five."""
    prior = shipped_prior()
    skill = float(learners.bound(rng.choice(prior.skills, p=prior.skill_weights)))
    rate, half_life = rng.choice(prior.rates, p=prior.rate_weights), rng.choice(prior.half_lives)
    learn = (learners.learn_toward_level, learners.learn_per_success)[rng.integers(2)]
    law = list(learners.Forgetting)[rng.integers(2)]
    factors = np.exp(WEIGHT_SD * rng.standard_normal(4))
    trials: list = []
    step = n_met = 0
    for n in range(N_DAYS):
        form = rng.choice(learners.FORMS, p=learners.FORM_WEIGHTS)
        for block in range(2):
            delta = float(ruler_of(SETTLE).delta(factors[None], SETTLE.steps[step].criterion, step)[0])
            p = learners.p_met(skill, delta, form=form, tired=learners.SECOND_BLOCK * block)
            letters = "".join("m" if rng.random() < p else "x" for _ in range(5))
            later = timedelta(minutes=block)
            trials += [
                replace(t, event_id=f"{t.event_id}-{block}", at=t.at + later)
                for t in daily_trials(SETTLE, letters, step=step, day=n)
            ]
            met = letters.count("m")
            skill, n_met = float(learn(skill, rate, delta, 5, met)), n_met + met
            step = min(len(SETTLE.steps) - 1, max(0, step + (met >= 4) - (met <= 1)))
        kept = learners.retained(1.0, half_life * learners.growth_of(n_met), law)
        skill = float(learners.forget(skill, kept))
    form = rng.choice(learners.FORMS, p=learners.FORM_WEIGHTS)
    return trials, skill + float(form), factors, step
