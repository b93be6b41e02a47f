"""The shipped weights are small, whole, and made by the script that the file names."""

from importlib.resources import files

import numpy as np
import pytest

from pupilage.core.recordings.noises.weights import shipped

SHAPES = {
    "click": (22, 1),
    "click_learned": (42, 1),
    "whistle": (18, 1),
    "whistle_learned": (26, 1),
    "burst": (42, 3),
    "voice": (330, 3),
}


@pytest.mark.parametrize("name", SHAPES)
def test_a_shipped_model_has_its_shape_and_whole_numbers(name):
    model = shipped(name)
    n_features, n_classes = SHAPES[name]
    assert model.weights.shape == SHAPES[name]
    assert model.mean.shape == model.scale.shape == (n_features,)
    assert model.bias.shape == (n_classes,)
    assert all(np.isfinite(part).all() for part in (model.weights, model.mean, model.scale, model.bias))
    assert (model.scale > 0).all()


def test_the_file_says_who_wrote_it_and_stays_under_40_kb():
    text = files("pupilage.core.recordings.noises").joinpath("weights.toml").read_text(encoding="utf-8")
    assert "scripts/learn_noise_weights" in text.splitlines()[0]
    assert len(text) < 40_000


def test_chances_of_classes_sum_to_one_and_a_far_feature_overflows_nothing():
    model = shipped("burst")
    chances = model.chances(np.vstack([model.mean, model.mean + 1e6, model.mean - 1e6]))
    np.testing.assert_allclose(chances.sum(axis=1), 1.0)
