"""Bouts, the first sound after the door, the longest quiet, and the honest no."""

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.alone import Sign
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.noises.home_alone import (
    SIGNS,
    HomeBackground,
    HomeRules,
    home_background,
    read_home_alone,
)


def bark(start_s, *, confidence=0.9, state=EventState.SUGGESTED, kind=EventKind.BARK, length_s=0.2):
    return Event(start_s, start_s + length_s, kind, kind.value, confidence=confidence, state=state)


def test_vocalisations_with_pauses_up_to_five_seconds_are_one_bout_and_a_single_one_is_none():
    result = read_home_alone([bark(t) for t in (70, 74, 78, 100, 200, 204)], door_s=60, end_s=600)
    assert [(bout.start_s, bout.end_s) for bout in result.bouts] == [(70, 78.2), (200, 204.2)]
    assert (result.n_barks, result.first_s, result.first_after_s) == (6, 70, 10)
    assert result.quiet == (204.2, 600)
    assert result.voiced_s == pytest.approx(12.4)
    assert result.share == pytest.approx(12.4 / 540)


def test_the_log_gets_plain_tuples_counted_from_the_door():
    events = [bark(70), bark(73, kind=EventKind.WHINE), bark(76, kind=EventKind.WHINE)]
    result = read_home_alone(events, door_s=60, end_s=600)
    assert result.for_the_log() == (("whining", 10, pytest.approx(16.2)),)
    assert set(SIGNS.values()) <= {sign.value for sign in Sign}
    assert result.alone_s == 540


def test_what_sounds_before_the_door_or_after_the_end_does_not_count():
    result = read_home_alone([bark(t) for t in (10, 12, 700)], door_s=60, end_s=600)
    assert result.bouts == ()
    assert result.first_s is None
    assert result.quiet == (60, 600)


def test_a_rejected_event_never_counts_a_confirmed_one_always():
    events = [
        bark(70, state=EventState.REJECTED),
        bark(80, confidence=0.2, state=EventState.CONFIRMED),
        bark(90, confidence=0.2),
    ]
    result = read_home_alone(events, door_s=60, end_s=600)
    assert (result.n_barks, result.first_s, result.n_unchecked) == (1, 80, 0)


def test_rules_can_be_changed():
    result = read_home_alone([bark(70), bark(79)], door_s=60, end_s=600, rules=HomeRules(pause_s=10))
    assert len(result.bouts) == 1
    assert len(read_home_alone([bark(70)], door_s=60, end_s=600, rules=HomeRules(least_n=1)).bouts) == 1


def test_with_a_television_on_it_says_that_it_cannot_tell():
    background = HomeBackground((-60.0,) * 10, ((60.0, 400.0),))
    result = read_home_alone([bark(70), bark(72)], door_s=60, end_s=600, background=background)
    assert not result.can_tell
    assert "cannot tell" in str(result.doubt)
    assert result.n_unreadable_min == 6


def test_noisy_minutes_are_counted_and_too_many_of_them_are_a_no():
    few = HomeBackground((-60.0,) * 9 + (-30.0,), ())
    many = HomeBackground((-60.0,) * 5 + (-30.0,) * 5, ())
    assert read_home_alone([], door_s=0, end_s=600, background=few).n_unreadable_min == 1
    assert read_home_alone([], door_s=0, end_s=600, background=few).can_tell
    assert not read_home_alone([], door_s=0, end_s=600, background=many).can_tell


def test_a_barking_dog_is_not_taken_for_a_television():
    barks = [bark(t) for t in range(60, 600, 2)]
    speech = tuple((t - 0.1, t + 0.4) for t in range(60, 600, 2))
    background = home_background(np.full(600, -60.0), speech, barks, step_s=1.0)
    assert background.speech == ()
    assert read_home_alone(barks, door_s=60, end_s=600, background=background).can_tell


def test_speech_around_a_bark_stays_speech():
    background = home_background(np.full(60, -60.0), [(10.0, 20.0)], [bark(14.0)], step_s=1.0)
    assert background.speech == ((10.0, 13.7), (14.5, 20.0))


def test_a_minutes_floor_is_the_level_a_fifth_of_it_stays_under():
    background = home_background(np.repeat([-60.0, -20.0], [15, 45]), [], [], step_s=1.0)
    assert background.floor_dbfs == (-60.0,)


@pytest.mark.parametrize(("door_s", "end_s"), [(-1, 10), (10, 10), (float("nan"), 10), (0, float("inf"))])
def test_a_time_alone_that_makes_no_sense_is_refused(door_s, end_s):
    with pytest.raises(InvalidInput):
        read_home_alone([], door_s=door_s, end_s=end_s)


def test_the_share_of_speech_is_that_of_the_time_listened_to():
    background = HomeBackground((-60.0,) * 2, ((0.0, 5.0), (20.0, 25.0)), ((0.0, 10.0), (20.0, 30.0)))
    assert background.speech_share(0.0, 60.0) == 0.5
    assert background.speech_share(100.0, 110.0) == 0.0
