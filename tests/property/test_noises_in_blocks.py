"""However a decoder cuts the sound into blocks, and wherever a sound lies on the grid, the same events come out."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_noises import RATE_HZ, alone, clicked, in_one_piece, starts, whistled
from pupilage.core.recordings.noises.clicks import ClickDetector
from pupilage.core.recordings.noises.dogs import DogDetector
from pupilage.core.recordings.noises.speech_runs import LevelMeter
from pupilage.core.recordings.noises.stretches import Stretches
from pupilage.core.recordings.noises.whistles import WhistleDetector
from pupilage.core.simulation.sounds.scenes import Background

CUTS = st.lists(st.floats(0.0, 1.0), max_size=8)


def in_blocks(detector, samples, cuts):
    """Return what a detector gives for a recording cut at these shares of its length, empty blocks included."""
    places = [0, *sorted(int(cut * len(samples)) for cut in cuts), len(samples)]
    found = [event for a, b in pairwise(places) for event in detector.feed(samples[a:b])]
    return [*found, *detector.finish()]


@settings(max_examples=4, deadline=None)
@given(CUTS)
def test_clicks_do_not_depend_on_the_blocks(cuts):
    scene, sound = clicked(1, Background.PINK, 10.0)
    assert in_blocks(ClickDetector(RATE_HZ, sound), scene.samples, cuts) == _clicks()


@settings(max_examples=4, deadline=None)
@given(CUTS)
def test_whistles_do_not_depend_on_the_blocks(cuts):
    scene, sound = whistled(2, Background.PINK, 10.0)
    assert in_blocks(WhistleDetector(RATE_HZ, [sound]), scene.samples, cuts) == _whistles()


@settings(max_examples=4, deadline=None)
@given(CUTS)
def test_barks_and_whines_do_not_depend_on_the_blocks(cuts):
    scene, _ = alone(3, Background.TELEVISION, -50.0)
    assert in_blocks(DogDetector(), scene.samples, cuts) == _dogs()


def _once(make):
    kept = []

    def get():
        if not kept:
            kept.append(make())
            assert kept[0], "the example must hold events"
        return kept[0]

    return get


def _pass(detector, scene):
    return in_one_piece(detector, scene.samples)


_clicks = _once(lambda: (lambda s: _pass(ClickDetector(RATE_HZ, s[1]), s[0]))(clicked(1, Background.PINK, 10.0)))
_whistles = _once(lambda: (lambda s: _pass(WhistleDetector(RATE_HZ, [s[1]]), s[0]))(whistled(2, Background.PINK, 10.0)))
_dogs = _once(lambda: _pass(DogDetector(), alone(3, Background.TELEVISION, -50.0)[0]))


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(0, 400), max_size=12), st.integers(1, 60), st.integers(0, 30), st.integers(0, 30))
def test_stretches_hold_every_sample_once_with_its_neighbours(sizes, n_own, before, after):
    whole = np.arange(1, sum(sizes) + 1, dtype=np.float32)
    stretches, at, got = Stretches(n_own, before, after), 0, []
    for size in sizes:
        got += stretches.feed(whole[at : at + size])
        at += size
    got += stretches.finish()
    own = [stretch.samples[stretch.before : stretch.before + stretch.n_own] for stretch in got]
    np.testing.assert_array_equal(np.concatenate([np.zeros(0, np.float32), *own]), whole)
    padded = np.concatenate([np.zeros(before, np.float32), whole, np.zeros(after, np.float32)])
    for stretch in got:
        np.testing.assert_array_equal(
            stretch.samples, padded[stretch.start : stretch.start + before + stretch.n_own + after]
        )


@pytest.mark.parametrize("shift_s", [0.37, 4.93, 9.31])
def test_a_sound_on_the_edge_of_a_stretch_is_found_where_it_is(shift_s):
    """The session is moved so that every click and whistle comes to lie on an edge of the grid once in a while."""
    scene, sound = clicked(1, Background.QUIET, 0.0)
    wanted = starts(in_one_piece(ClickDetector(RATE_HZ, sound), scene.samples))
    first = wanted[0]
    silence = np.resize(scene.samples[:8000], int(max(10.0 - first + shift_s / 1000, 0) * RATE_HZ))
    moved = np.concatenate([silence, scene.samples])
    again = starts(in_one_piece(ClickDetector(RATE_HZ, sound), moved))
    by = len(silence) / RATE_HZ
    np.testing.assert_allclose(np.array(again)[-len(wanted) :] - by, wanted, atol=0.002)


def test_levels_do_not_depend_on_the_blocks():
    scene, _ = alone(3, Background.TELEVISION, -50.0)
    one, many = LevelMeter(), LevelMeter()
    one.feed(scene.samples)
    for at in range(0, len(scene.samples), 12_345):
        many.feed(scene.samples[at : at + 12_345])
    one.finish()
    many.finish()
    np.testing.assert_array_equal(one.level_db, many.level_db)
    np.testing.assert_array_equal(one.floor_db, many.floor_db)
    assert len(one.level_db) == pytest.approx(100 * scene.duration_s, abs=1)
