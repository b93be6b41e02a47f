"""Whistles are lasting tones; a learned one is told from another's."""

import numpy as np
import pytest

from made_noises import RATE_HZ, in_one_piece, starts, whistled
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.noises.tones import find_tones
from pupilage.core.recordings.noises.whistles import WhistleDetector, WhistleSound, hear_whistle, learn_whistle
from pupilage.core.simulation.sounds.scenes import Background, samples_of
from pupilage.core.simulation.sounds.scoring import match
from pupilage.core.simulation.sounds.trainers import Whistle


@pytest.mark.parametrize(("kind", "under_db"), [(Background.QUIET, 0.0), (Background.PINK, 10.0)])
@pytest.mark.parametrize("learned", [True, False])
def test_a_whistle_is_found_within_25_ms(kind, under_db, learned):
    scene, sound = whistled(2, kind, under_db)
    found = in_one_piece(WhistleDetector(RATE_HZ, [sound] if learned else ()), scene.samples)
    score = match(starts(found), [start_s for _, start_s, _ in scene.truths], 0.025)
    assert score.n_true == 4
    assert score.f1 > 0.85


def test_a_learned_whistle_gives_its_name_and_another_persons_is_less_likely():
    scene, sound = whistled(2, Background.QUIET, 0.0)
    _, other = whistled(5, Background.QUIET, 0.0)
    mine = in_one_piece(WhistleDetector(RATE_HZ, [sound]), scene.samples)
    theirs = in_one_piece(WhistleDetector(RATE_HZ, [other]), scene.samples)
    assert {event.label for event in mine} == {"here"}
    assert max(e.confidence for e in mine) > 0.9
    assert not starts(theirs)


def test_a_tone_of_three_seconds_is_cut_and_white_noise_holds_none():
    t = np.arange(5 * RATE_HZ) / RATE_HZ
    tone = (0.3 * np.sin(2 * np.pi * 2500 * t) * ((t > 1) & (t < 4))).astype(np.float32)
    assert find_tones(tone, RATE_HZ)[0].n / RATE_HZ == pytest.approx(1.8, abs=0.01)
    assert find_tones(np.random.default_rng(1).normal(0, 0.1, RATE_HZ).astype(np.float32), RATE_HZ) == []


def test_too_few_and_toneless_samples_are_named_all_at_once():
    noise = np.random.default_rng(1).normal(0, 0.1, RATE_HZ).astype(np.float32)
    with pytest.raises(InvalidInput) as refused:
        learn_whistle("here", [noise, noise], RATE_HZ)
    assert len(refused.value.problems) == 3


def test_a_learned_whistle_is_kept_as_bytes_and_read_back():
    _, sound = whistled(2, Background.QUIET, 0.0)
    again = WhistleSound.from_bytes(sound.to_bytes())
    assert again.label == "here"
    np.testing.assert_array_equal(again.course, sound.course)


def test_whistles_kept_each_by_itself_make_the_whistle_that_they_make_together():
    whistle = Whistle.drawn(np.random.default_rng(3))
    cuts = samples_of(lambda rng: whistle.blow(rng, rate_hz=RATE_HZ), 3, np.random.default_rng(4), rate_hz=RATE_HZ)
    kept = [hear_whistle(cut, RATE_HZ).to_bytes() for cut in cuts]
    joined = WhistleSound.joined("here", [WhistleSound.from_bytes(one) for one in kept])
    np.testing.assert_array_equal(joined.figures, learn_whistle("here", cuts, RATE_HZ).figures)
    with pytest.raises(InvalidInput, match="1 whistles are too few"):
        WhistleSound.joined("here", [WhistleSound.from_bytes(kept[0])])
    assert hear_whistle(np.zeros(RATE_HZ, np.float32), RATE_HZ) is None
