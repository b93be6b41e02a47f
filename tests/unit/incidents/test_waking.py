from datetime import UTC, datetime, timedelta

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.incidents.record import Before
from pupilage.core.incidents.stretches import Stretch
from pupilage.core.incidents.waking import free_time, present_time

START = datetime(2026, 5, 12, 7, tzinfo=UTC)


def at(minute):
    return START + timedelta(minutes=minute)


def log(*entries):
    return [
        CareEvent(str(i), CareKind(kind), at(minute), CareDetail(detail))
        for i, (minute, kind, detail) in enumerate(entries)
    ]


DAY = log(
    (0, "nap", "end"),
    (5, "outing", "wee"),
    (20, "meal", ""),
    (30, "unwatched", "start"),
    (45, "unwatched", "end"),
    (60, "nap", "start"),
    (120, "nap", "end"),
    (125, "outing", "both"),
    (150, "crate", "start"),
    (200, "outing", "wee"),
    (240, "play", "end"),
    (260, "visitor", "start"),
    (300, "outing", "wee"),
)


def test_free_time_is_awake_and_not_shut_in():
    assert free_time(DAY, UTC) == [
        Stretch(at(0), at(60)),
        Stretch(at(120), at(150)),
        Stretch(at(200), at(300)),
    ]


def test_moments_last_a_quarter_of_an_hour_and_stretches_as_logged():
    found = present_time(DAY, [at(280)], UTC)
    assert found[Before.WOKE] == [Stretch(at(0), at(15)), Stretch(at(120), at(135))]
    assert found[Before.ATE] == [Stretch(at(20), at(35))]
    assert found[Before.PLAYED] == [Stretch(at(240), at(255))]
    assert found[Before.TRAINED] == [Stretch(at(280), at(295))]
    assert found[Before.UNWATCHED] == [Stretch(at(30), at(45))]
    assert found[Before.VISITOR] == [Stretch(at(260), at(260 + 180))]  # nobody ended it: three hours


def test_a_day_without_entries_counts_for_nothing():
    assert free_time([], UTC) == []
