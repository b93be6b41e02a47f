"""Bouts found in a recording become the signs of an absence."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.absences import AbsenceRecord, SignAt, Watched
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.bouts import Bout, Heard, with_heard

ONE = AbsenceRecord("one", datetime(2026, 5, 12, 9, tzinfo=UTC), 120.0, watched=Watched.NOT)
WHINE, BARK = Bout(Sign.WHINING, 40.0, 46.0), Bout(Sign.BARKING, 30.0, 33.0)


def test_bouts_become_signs_in_the_order_of_time():
    found = with_heard(ONE, Heard((WHINE, BARK), 300.0))
    assert found.signs == (SignAt(Sign.BARKING, 30.0), SignAt(Sign.WHINING, 40.0))
    assert (found.watched, found.watched_s) == (Watched.RECORDING, None)


def test_recording_that_began_before_the_door_shut_is_moved_by_that():
    found = with_heard(ONE, Heard((WHINE, Bout(Sign.HOWLING, 1.0, 15.0)), 300.0, begins_s=-10.0))
    assert found.signs == (SignAt(Sign.HOWLING, 0.0), SignAt(Sign.WHINING, 30.0))


def test_recording_that_ran_out_watched_only_so_long():
    assert with_heard(ONE, Heard((), 50.0)).told().seconds == 50.0


def test_recording_that_began_late_knows_no_time_of_the_first_sign():
    found = with_heard(ONE, Heard((WHINE,), 60.0, begins_s=20.0))
    assert found.signs == (SignAt(Sign.WHINING),)
    assert not found.told().known


def test_short_sounds_and_those_after_the_return_are_no_signs():
    bouts = (Bout(Sign.BARKING, 10.0, 12.0), Bout(Sign.WHINING, 119.0, 125.0), Bout(Sign.WHINING, 130.0, 140.0))
    assert with_heard(ONE, Heard(bouts, 300.0)).signs == ()


def test_what_was_seen_stays_and_the_same_recording_twice_adds_nothing():
    seen = replace(ONE, watched=Watched.CAMERA, signs=(SignAt(Sign.PACING, 12.0),))
    once = with_heard(seen, Heard((WHINE,), 300.0))
    assert once.signs == (SignAt(Sign.PACING, 12.0), SignAt(Sign.WHINING, 40.0))
    assert once.watched is Watched.CAMERA
    assert with_heard(once, Heard((WHINE,), 300.0)) == once


@pytest.mark.parametrize(
    "heard",
    [
        Heard((Bout(Sign.PACING, 1.0, 9.0),), 60.0),
        Heard((Bout(Sign.WHINING, 9.0, 1.0),), 60.0),
        Heard((Bout(Sign.WHINING, 50.0, 70.0),), 60.0),
        Heard((), 0.0),
    ],
)
def test_bouts_that_cannot_be_are_refused(heard):
    with pytest.raises(InvalidInput):
        with_heard(ONE, heard)
