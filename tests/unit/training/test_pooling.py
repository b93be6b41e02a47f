"""The prior of the next dog moves towards the trainer's own dogs, and not without them."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from drawn_dogs import draw_dog
from engine_cases import ladder
from pupilage.core.errors import InvalidInput
from pupilage.core.training.pooling.dog_summary import lay_together, summary_of
from pupilage.core.training.pooling.prior_shape import SHIPPED, find_shape, origin_of, prior_of
from pupilage.core.training.pooling.shape_fit import gain_of_pooling, log_evidence, pool_dogs, pooled_shape
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.prior import MODELS, Prior, make_prior, normal_weights, shipped_prior

TAUGHT = [ladder(0.0, 5.0, 15.0, 40.0, key=key) for key in ("down", "sit", "touch")]
BY_KEY = {behaviour.key: behaviour for behaviour in TAUGHT}
SLOW = make_prior("slow", skill_mean=-0.5, skill_sd=0.5, rate_median=0.035, rate_sd=0.4)
PER_SUCCESS = make_prior("per-success", models=np.array([0.0, 0.0, 0.5, 0.5, 0.0, 0.0]))


def dog_of(prior: Prior, rng: np.random.Generator, n_days: int = 12):
    dog = draw_dog(prior, TAUGHT, rng, n_days=n_days)
    return know(BY_KEY, dog.trials), dog.trials[-1].at


def summaries(prior: Prior, n: int, seed: int = 1):
    rng = np.random.default_rng(seed)
    return [summary_of(known.state) for known, _ in (dog_of(prior, rng) for _ in range(n))]


@pytest.fixture(scope="module")
def slow_dogs():
    return summaries(SLOW, 24)


def test_without_earlier_dogs_the_shipped_prior_stands():
    assert pool_dogs([]) == SHIPPED
    assert prior_of(SHIPPED) is shipped_prior()
    assert "simulator" in str(origin_of(SHIPPED))
    assert "no dog was measured" in str(origin_of(None))


def test_slow_dogs_make_a_slow_prior_and_more_of_them_a_slower_one(slow_dogs):
    few, many = pool_dogs(slow_dogs[:4]), pool_dogs(slow_dogs)
    assert SHIPPED.log_rate_mean > few.log_rate_mean > many.log_rate_mean
    assert SHIPPED.skill_mean > few.skill_mean > many.skill_mean
    assert many.log_rate_mean == pytest.approx(np.log(0.035), abs=0.45)  # held to the shipped one, and 24 dogs
    assert "24 earlier dogs" in str(origin_of(many))


def test_dogs_of_one_way_of_learning_make_it_likelier():
    found = pool_dogs(summaries(PER_SUCCESS, 10))
    assert sum(found.models[2:4]) > 0.6
    assert sum(found.models) == pytest.approx(1.0)


def test_pooling_makes_the_records_of_such_dogs_likelier(slow_dogs):
    # Each left out in turn; nats a dog, from 24 dogs of one seed. By three standard errors.
    gain = gain_of_pooling(slow_dogs)
    assert gain.mean() > 3.0 * gain.std(ddof=1) / np.sqrt(len(gain))


def test_rounds_climb_what_they_are_said_to_climb(slow_dogs):
    # With one behaviour a dog and nothing that holds them back the likelihood itself must never fall.
    alone = [replace(one, skill=one.skill[:1], level=one.level[:1]) for one in slow_dogs]
    earlier = lay_together(alone, shipped_prior())
    reached = [log_evidence(earlier, pooled_shape(earlier, worth_dogs=0.0, n_rounds=n)).sum() for n in range(12)]
    assert min(np.diff(reached)) > -1e-4  # single precision


def test_dogs_that_say_nothing_leave_the_prior_where_it_is():
    # The cells are wide; their width must not be taken for a difference between dogs.
    silent = summaries(shipped_prior(), 1)[0]
    silent = replace(silent, skill=np.ones_like(silent.skill), level=np.ones_like(silent.level), log_models=np.zeros(6))
    found = pool_dogs([silent] * 500)
    assert (found.skill_mean, found.skill_sd) == pytest.approx((SHIPPED.skill_mean, SHIPPED.skill_sd), abs=1e-3)
    assert (found.log_rate_mean, found.log_rate_sd) == pytest.approx(
        (SHIPPED.log_rate_mean, SHIPPED.log_rate_sd), abs=1e-3
    )
    assert found.models == pytest.approx(SHIPPED.models)


def test_order_of_the_dogs_does_not_matter(slow_dogs):
    one, other = pool_dogs(slow_dogs), pool_dogs(slow_dogs[::-1])
    assert one.skill_mean == pytest.approx(other.skill_mean, abs=1e-4)


def test_summary_weighs_the_models_as_folding_the_record_again_does():
    # One behaviour, another prior on the same grid: exact, but for single precision.
    known, at = dog_of(shipped_prior(), np.random.default_rng(5))
    trials = [trial for trial in known.trials if trial.behaviour == "sit"]
    shape = replace(SHIPPED, skill_mean=-0.4, skill_sd=0.5, log_rate_mean=-3.2, models=(0.3, 0.1, 0.2, 0.2, 0.1, 0.1))
    other = on_shipped_grid(shape)
    again = know(BY_KEY, trials, prior=other).at("sit", at + timedelta(days=1)).models
    summary = summary_of(know(BY_KEY, trials).state)
    alone = [
        log_evidence(lay_together([summary], shipped_prior()), replace(shape, models=tuple(np.eye(6)[m])))[0]
        for m in range(6)
    ]
    weighed = np.array(shape.models) * np.exp(np.array(alone) - max(alone))
    assert weighed / weighed.sum() == pytest.approx(again, rel=1e-4)


def on_shipped_grid(shape):
    """Return the prior of a shape on the grid of the shipped one, where `prior_of` moves the rates."""
    shipped = shipped_prior()
    skill = 0.94 * normal_weights(shipped.skills, shape.skill_mean, shape.skill_sd) + 0.06 / len(shipped.skills)
    rate = normal_weights(np.log(shipped.rates), shape.log_rate_mean, shape.log_rate_sd)
    return replace(shipped, name="other", skill_weights=skill, rate_weights=rate, models=np.array(shape.models))


def test_summary_made_under_another_prior_is_refused(slow_dogs):
    with pytest.raises(InvalidInput, match="fold that dog's record again"):
        lay_together([replace(slow_dogs[0], prior="pooled-3")], shipped_prior())
    with pytest.raises(InvalidInput, match="no earlier dog"):
        lay_together([], shipped_prior())


def test_dog_without_trials_leaves_no_summary():
    with pytest.raises(InvalidInput, match="no trials"):
        summary_of(know(BY_KEY, []).state)


def test_worth_below_nothing_is_refused(slow_dogs):
    with pytest.raises(InvalidInput, match="0 or more"):
        pool_dogs(slow_dogs[:2], worth_dogs=float("nan"))


def test_shape_goes_through_json_and_back(slow_dogs):
    shape = pool_dogs(slow_dogs)
    assert find_shape(shape.to_json()) == shape
    assert prior_of(shape) is prior_of(replace(shape))
    assert prior_of(shape).name == "pooled-24"


@pytest.mark.parametrize(
    "broken",
    [{"half_lives": [1.0]}, {"skill_sd": 0.0}, {"skill_mean": float("nan")}, {"models": 3}, {"n_dogs": "many"}],
)
def test_shape_that_no_longer_fits_is_none(broken):
    assert find_shape(SHIPPED.to_json() | broken) is None


@pytest.mark.parametrize("kept", [None, {}, {"n_dogs": 3}])
def test_stay_without_a_kept_shape_has_none(kept):
    assert find_shape(kept) is None


def test_pooled_prior_is_used_by_the_fold_like_the_shipped_one(slow_dogs):
    prior = prior_of(pool_dogs(slow_dogs))
    rng = np.random.default_rng(2)
    dog = draw_dog(SLOW, TAUGHT, rng, n_days=3)
    at = dog.trials[-1].at + timedelta(hours=1)
    found = know(BY_KEY, dog.trials, prior=prior).at("sit", at)
    weight, mastery = found.joint
    assert weight.sum() + mastery.sum() == pytest.approx(1.0)
    assert len(found.models) == len(MODELS)
