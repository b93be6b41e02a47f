"""A clicker learned from three clicks is found in a session, to the millisecond, and nothing else is."""

import numpy as np
import pytest

from made_noises import RATE_HZ, clicked, in_one_piece, starts
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import EventKind, EventState
from pupilage.core.recordings.noises.clicks import ClickDetector, ClickSound, hear_click, learn_click
from pupilage.core.recordings.noises.transients import find_transients
from pupilage.core.recordings.noises.whistles import WhistleSound
from pupilage.core.simulation.sounds.households import BANGS
from pupilage.core.simulation.sounds.scenes import Background, Scene, samples_of
from pupilage.core.simulation.sounds.scoring import match
from pupilage.core.simulation.sounds.tones import at_peak
from pupilage.core.simulation.sounds.trainers import Clicker


@pytest.mark.parametrize(
    ("kind", "under_db"), [(Background.QUIET, 0.0), (Background.PINK, 10.0), (Background.TELEVISION, 20.0)]
)
def test_a_learned_clicker_is_found_to_three_milliseconds(kind, under_db):
    scene, sound = clicked(1, kind, under_db)
    found = in_one_piece(ClickDetector(RATE_HZ, sound), scene.samples)
    score = match(starts(found), [start_s for _, start_s, _ in scene.truths], 0.05)
    assert score.n_true == 4
    assert score.f1 > 0.85
    assert score.error_ms(1.0) <= 3.0


def test_a_click_is_a_suggestion_from_sound():
    scene, sound = clicked(1, Background.QUIET, 0.0)
    one = in_one_piece(ClickDetector(RATE_HZ, sound), scene.samples)[0]
    assert (one.kind, one.state, one.exact) == (EventKind.CLICK, EventState.SUGGESTED, True)


def test_without_learning_a_click_is_found_in_a_quiet_room():
    scene, _ = clicked(1, Background.QUIET, 0.0)
    score = match(
        starts(in_one_piece(ClickDetector(RATE_HZ), scene.samples)), [start_s for _, start_s, _ in scene.truths], 0.05
    )
    assert score.recall == 1.0


def test_press_and_release_are_one_event_that_ends_with_the_release():
    rng = np.random.default_rng(4)
    clicker = Clicker.drawn(rng)
    uses = [at_peak(clicker.press(rng, rate_hz=RATE_HZ), 0.4) for _ in range(4)]
    quiet = rng.normal(0, 1e-4, (4, int(1.0 * RATE_HZ))).astype(np.float32)
    cuts = []
    for noise, use in zip(quiet, uses, strict=True):
        noise[8000 : 8000 + len(use)] += use[: len(noise) - 8000]
        cuts.append(noise)
    found = in_one_piece(ClickDetector(RATE_HZ, learn_click(cuts[:3], RATE_HZ)), cuts[3])
    assert len(found) == 1
    assert found[0].start_s == pytest.approx(0.25, abs=0.002)
    assert found[0].end_s - found[0].start_s > 0.04


@pytest.mark.parametrize("bang", BANGS, ids=lambda bang: bang.__name__)
def test_a_bang_of_the_household_is_not_the_learned_clicker(bang):
    _, sound = clicked(1, Background.QUIET, 0.0)
    rng = np.random.default_rng(2)
    scene = Scene(rng.normal(0, 3e-4, 8 * RATE_HZ).astype(np.float32), RATE_HZ)
    for at_s in (1.0, 3.0, 5.0):
        scene.lay(at_peak(bang(rng, rate_hz=RATE_HZ), 0.3), at_s)
    assert len(starts(in_one_piece(ClickDetector(RATE_HZ, sound), scene.samples))) <= 1  # at worst one of three


def test_silence_holds_no_click_and_a_recording_shorter_than_a_click_neither():
    for n in (0, 10, 40_000):
        assert in_one_piece(ClickDetector(RATE_HZ), np.zeros(n, np.float32)) == []


def test_an_impulse_stands_where_it_is():
    samples = np.random.default_rng(1).normal(0, 1e-4, RATE_HZ).astype(np.float32)
    samples[16_000] = 0.8
    assert [one.place for one in find_transients(samples, RATE_HZ)] == [pytest.approx(16_000, abs=0.001 * RATE_HZ)]


def test_what_cannot_be_learned_from_is_named_all_at_once():
    with pytest.raises(InvalidInput) as refused:
        learn_click([np.zeros(8000, np.float32)] * 2, RATE_HZ)
    assert [problem.where for problem in refused.value.problems] == ["clicks"] * 3
    assert "2 clicks are too few" in str(refused.value)


def test_a_learned_click_is_kept_as_bytes_and_read_back():
    scene, sound = clicked(1, Background.QUIET, 0.0)
    again = ClickSound.from_bytes(sound.to_bytes())
    before = in_one_piece(ClickDetector(RATE_HZ, sound), scene.samples)
    after = in_one_piece(ClickDetector(RATE_HZ, again), scene.samples)
    assert starts(before) == starts(after)


def test_clicks_kept_each_by_itself_make_the_clicker_that_they_make_together():
    cuts = samples_of(
        lambda rng: Clicker.drawn(np.random.default_rng(3)).press(rng, rate_hz=RATE_HZ),
        3,
        np.random.default_rng(4),
        rate_hz=RATE_HZ,
    )
    kept = [hear_click(cut, RATE_HZ).to_bytes() for cut in cuts]
    joined = ClickSound.joined([ClickSound.from_bytes(one) for one in kept])
    np.testing.assert_array_equal(joined.early, learn_click(cuts, RATE_HZ).early)
    with pytest.raises(InvalidInput, match="2 clicks are too few"):
        ClickSound.joined([ClickSound.from_bytes(one) for one in kept[:2]])
    assert hear_click(np.zeros(RATE_HZ, np.float32), RATE_HZ) is None


def test_bytes_of_another_kind_are_no_clicker():
    with pytest.raises(InvalidInput, match="clicker cannot be read"):
        ClickSound.from_bytes(WhistleSound("here", np.zeros((1, 9)), np.zeros((1, 8))).to_bytes())
