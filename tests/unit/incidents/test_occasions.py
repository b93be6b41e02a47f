from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.incidents.occasions import count_occasions
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import Stretch

START = datetime(2026, 5, 4, 6, tzinfo=UTC)


def at(minute):
    return START + timedelta(minutes=minute)


FREE = [Stretch(at(0), at(600))]
REACH = {Before.IN_REACH: [Stretch(at(m), at(m + 10)) for m in range(0, 300, 30)]}


def count(*incidents):
    return count_occasions(incidents, free=FREE, present=REACH)


def incident(minute, **more):
    return Incident(str(minute), "counter-stealing", at(minute), **more)


def test_each_stretch_is_one_opportunity_and_counts_once():
    """0 of 10: at most 1 − 0.025 to the power of a tenth, 0.3085 (Clopper and Pearson)."""
    (found,) = count()
    assert (found.n_with, found.n) == (0, 10)
    assert found.high == pytest.approx(1 - 0.025**0.1)
    (found,) = count(incident(5), incident(6), incident(35), incident(20))
    assert (found.n_with, found.n) == (2, 10)


def test_left_and_near_misses_are_no_incidents():
    (found,) = count(incident(5, left_it=True), incident(35, near_miss=True))
    assert found.n_with == 0


def test_food_in_reach_of_a_pup_that_sleeps_is_no_opportunity():
    (found,) = count_occasions([], free=[Stretch(at(0), at(65))], present=REACH)
    assert found.n == 3


def test_what_was_never_tapped_is_not_told():
    assert not count_occasions([incident(5)], free=FREE, present={})


def test_largest_share_comes_first():
    present = {**REACH, Before.BUSY: [Stretch(at(0), at(10))]}
    found = count_occasions([incident(5)], free=FREE, present=present)
    assert [one.before for one in found] == [Before.BUSY, Before.IN_REACH]
