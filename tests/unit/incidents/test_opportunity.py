from datetime import UTC, datetime, timedelta

from pupilage.core.incidents.antecedents import Chances, Times
from pupilage.core.incidents.opportunity import just_after, tables_of
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import Stretch

START = datetime(2026, 5, 12, 8, tzinfo=UTC)


def at(minute):
    return START + timedelta(minutes=minute)


def incident(minute, *before, left_it=False):
    return Incident(str(minute), "counter-stealing", at(minute), before=before, left_it=left_it)


FREE = [Stretch(at(0), at(120)), Stretch(at(180), at(300))]


def test_incidents_and_hours_are_split_by_what_the_log_says():
    unwatched = [Stretch(at(60), at(200))]
    found = tables_of([incident(70), incident(190), incident(250)], free=FREE, present={Before.UNWATCHED: unwatched})
    assert found == {"unwatched": Times(Tally(2, 80 / 60), Tally(1, 160 / 60))}


def test_sleep_is_no_occasion():
    found = tables_of([incident(150)], free=FREE, present={Before.UNWATCHED: [Stretch(at(60), at(200))]})
    assert found["unwatched"] == Times(Tally(0, 80 / 60), Tally(0, 160 / 60))


def test_what_is_always_or_never_there_is_not_compared():
    assert not tables_of([incident(10)], free=FREE, present={Before.VISITOR: [], Before.UNWATCHED: FREE})


def test_what_comes_and_goes_is_compared_by_its_occasions():
    record = [
        incident(1, Before.BELL),
        incident(2, Before.BELL),
        incident(3, Before.BELL, left_it=True),
        incident(4),
        incident(5, left_it=True),
        incident(6, left_it=True),
    ]
    assert tables_of(record, free=FREE, present={}) == {"bell": Chances(2, 3, 1, 3)}


def test_without_a_near_miss_nothing_is_compared_by_occasion():
    assert not tables_of([incident(1, Before.BELL), incident(2)], free=FREE, present={})


def test_just_after_is_a_quarter_of_an_hour():
    assert just_after([at(0)]) == [Stretch(at(0), at(15))]
