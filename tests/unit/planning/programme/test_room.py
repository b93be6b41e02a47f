"""How many sessions each day has room for."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.planning.programme.room import (
    Circumstances,
    most_sessions,
    reward_pieces,
    rooms_until,
    session_minutes,
)
from pupilage.core.planning.programme.rules import Rule
from pupilage.core.planning.standing import Frame

NOW = datetime(2026, 5, 12, 8, 30, tzinfo=UTC)
TODAY = date(2026, 5, 12)
FRAME = Frame(date(2026, 2, 25), date(2026, 5, 2), date(2026, 5, 23), 6, ZoneInfo("Europe/Lisbon"))


def test_there_is_a_room_for_every_day_until_the_hand_over() -> None:
    rooms = rooms_until(FRAME, Circumstances(), now=NOW)
    assert [room.day for room in rooms] == [TODAY + timedelta(days=n) for n in range(11)]
    assert {room.n_sessions for room in rooms} == {6}
    assert rooms[0].rule is Rule.SESSIONS


@pytest.mark.parametrize(
    ("around", "n", "rule"),
    [
        (Circumstances(days_off=(TODAY,)), 0, Rule.DAYS_OFF),
        (Circumstances(minutes_a_day=14), 4, Rule.MINUTES),  # 14 minutes, 3 a session at 10 weeks
        (Circumstances(minutes_a_day=30, appointments={TODAY: 20}), 3, Rule.MINUTES),
        (Circumstances(minutes_a_day=30, exposures_by_day={TODAY: 2}), 3, Rule.MINUTES),  # 10 minutes each
        (Circumstances(vet_dates=(TODAY,)), 4, Rule.PUP),  # half of eight at 10 weeks
        (Circumstances(exposures_by_day={TODAY: 5}), 3, Rule.PUP),
        (Circumstances(pieces_a_day=25), 2, Rule.FOOD),  # ten tries a session
        (Circumstances(pieces_a_day=5), 0, Rule.FOOD),
    ],
)
def test_least_of_what_the_day_leaves_is_its_room(around: Circumstances, n: int, rule: Rule) -> None:
    room = rooms_until(FRAME, around, now=NOW)[0]
    assert (room.n_sessions, room.rule) == (n, rule)


def test_sessions_already_held_today_have_room_even_on_a_day_off() -> None:
    around = Circumstances(days_off=(TODAY,), held_today={"sit": 2, "down": 1})
    assert rooms_until(FRAME, around, now=NOW)[0].n_sessions == 3


def test_days_before_the_arrival_have_none() -> None:
    rooms = rooms_until(FRAME, Circumstances(), now=datetime(2026, 4, 30, 9, tzinfo=UTC))
    assert [room.n_sessions for room in rooms][:3] == [0, 0, 6]


@pytest.mark.parametrize(
    ("age", "minutes", "n"), [(7.0, 2, 4), (8.0, 3, 8), (11.9, 3, 8), (12.0, 5, 12), (60.0, 5, 12)]
)
def test_sessions_grow_with_the_pup(age: float, minutes: int, n: int) -> None:
    # 1-3 minutes at 8-12 weeks, 3-5 at 12-20 weeks: from memory, trade practice.
    assert (session_minutes(age), most_sessions(age)) == (minutes, n)


def test_pup_of_three_weeks_has_no_room() -> None:
    frame = Frame(TODAY - timedelta(weeks=3), TODAY, TODAY + timedelta(days=7), 4, FRAME.zone)
    assert all(room.n_sessions == 0 for room in rooms_until(frame, Circumstances(), now=NOW))


def test_clocks_that_change_leave_every_local_day_once() -> None:
    frame = Frame(date(2026, 8, 1), date(2026, 10, 20), date(2026, 10, 29), 4, FRAME.zone)
    for hour in (0, 1, 23):  # summer time ends on 25 October 2026 in Lisbon
        rooms = rooms_until(frame, Circumstances(), now=datetime(2026, 10, 24, hour, tzinfo=UTC))
        days = [room.day for room in rooms]
        assert days == sorted(set(days))
        assert days[-1] == date(2026, 10, 28)


def test_half_of_the_days_food_is_pieces() -> None:
    assert reward_pieces(210.0, 0.4) == 262  # 210 g × 0.5 / 0.4 g


def test_every_figure_that_cannot_be_is_named() -> None:
    with pytest.raises(InvalidInput) as caught:
        rooms_until(FRAME, Circumstances(minutes_a_day=-1, held_today={"sit": -2}), now=NOW)
    assert {problem.where for problem in caught.value.problems} == {"minutes_a_day", "held_today"}
