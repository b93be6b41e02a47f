"""Barks and whines are found by bursts alone in a quiet home, with an embedding too, and drawn to one dog by marks."""

import numpy as np
import pytest

from made_noises import alone, in_one_piece, starts
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.noises.bursts import RATE_HZ, find_bursts, moving_floor
from pupilage.core.recordings.noises.dogs import BARK, DogDetector, Mark, describe, generic_dog, learn_dog
from pupilage.core.simulation.sounds.scenes import Background
from pupilage.core.simulation.sounds.scoring import Matched, match


def fake_embed(samples):
    """Return numbers of the right shape that say nothing."""
    n = max((len(samples) - 12_400) // 1280 + 1, 0)
    return np.zeros((n, 96), np.float32)


def scored(detector, scene, kind):
    found = in_one_piece(detector, scene.samples)
    return match(starts(found, kind=kind), [start_s for what, start_s, _ in scene.truths if what == kind], 0.3)


def test_barks_in_a_quiet_home_are_found_by_bursts_alone():
    total = Matched(0, 0, 0)
    for seed in (3, 4, 5):
        total += scored(DogDetector(), alone(seed, Background.QUIET, -62.0)[0], "bark")
    assert total.n_true >= 10
    assert total.f1 > 0.8


def test_a_bark_starts_within_50_ms_of_the_truth():
    total = scored(DogDetector(), alone(3, Background.QUIET, -62.0)[0], "bark")
    assert total.error_ms(0.9) < 50


def test_three_marks_make_a_dog_likelier_and_the_home_less():
    scene, _ = alone(3, Background.TELEVISION, -50.0)
    barks = [start_s for kind, start_s, _ in scene.truths if kind == "bark"][:3]
    marks = [Mark(scene.samples, start_s + 0.05) for start_s in barks]
    free = scene.samples[: int(8 * RATE_HZ)]
    weights = learn_dog(marks, dog_free=free)
    bursts, features = describe(scene.samples)
    at = [int(np.argmin([abs(one.place / RATE_HZ - start_s) for one in bursts])) for start_s in barks]
    before, after = generic_dog(None).chances(features)[at, BARK], weights.chances(features)[at, BARK]
    assert after.mean() >= before.mean()
    _, free_features = describe(free)
    assert (weights.chances(free_features)[:, 0] > 0.5).mean() >= (
        generic_dog(None).chances(free_features)[:, 0] > 0.5
    ).mean()


def test_the_embedding_adds_three_windows_of_96_numbers():
    scene, _ = alone(3, Background.QUIET, -62.0)
    bursts, plain = describe(scene.samples)
    _, heard = describe(scene.samples, fake_embed)
    assert plain.shape == (len(bursts), 42)
    assert heard.shape == (len(bursts), 42 + 3 * 96)
    assert generic_dog(fake_embed).weights.shape == (330, 3)


def test_the_embedding_is_not_asked_where_nothing_stands_out():
    asked = []
    detector = DogDetector(lambda samples: asked.append(len(samples)) or fake_embed(samples))
    noise = np.random.default_rng(1).normal(0, 1e-4, 90 * RATE_HZ).astype(np.float32)
    assert in_one_piece(detector, noise) == []
    assert asked == []


def test_marks_that_cannot_be_used_are_named_all_at_once():
    quiet = np.random.default_rng(1).normal(0, 1e-4, 8 * RATE_HZ).astype(np.float32)
    with pytest.raises(InvalidInput) as refused:
        learn_dog([Mark(quiet, 4.0)] * 2, whines=[Mark(quiet, 4.0)])
    assert [problem.where for problem in refused.value.problems] == ["barks", "barks", "barks", "whines"]


def test_the_floor_is_below_the_level_and_ignores_digital_silence():
    level = np.concatenate([np.full(500, -120.0), np.random.default_rng(1).normal(-60, 1, 1000)])
    floor = moving_floor(level)
    assert floor[520] == pytest.approx(-60, abs=1.5)
    assert (floor[530:] <= -58).all()


def test_a_recording_that_starts_in_the_middle_of_a_hum_has_no_burst():
    t = np.arange(6 * RATE_HZ) / RATE_HZ
    assert find_bursts((0.05 * np.sin(2 * np.pi * 400 * t)).astype(np.float32)) == []


@pytest.mark.parametrize("n", [0, 100, 5000])
def test_a_recording_of_a_moment_holds_nothing(n):
    assert in_one_piece(DogDetector(), np.zeros(n, np.float32)) == []
