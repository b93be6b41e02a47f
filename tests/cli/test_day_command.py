"""`pupilage day plan`: for people, for programs, and as a calendar's file."""

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import icalendar
import pytest

pytestmark = pytest.mark.django_db

DAY = "2026-05-13"
"""The day after the tests' moment, on which the stay is running."""


@pytest.fixture(autouse=True)
def at_the_tests_moment(monkeypatch: pytest.MonkeyPatch, now: datetime) -> None:
    """The command reads the clock once; it shows the tests' moment."""
    monkeypatch.setattr("pupilage.cli.commands.day.now", lambda: now)


def blocks(shown: Any) -> list[dict[str, Any]]:
    return json.loads(shown.output)["blocks"]


def test_fresh_stay_has_a_timetable_in_words(run, actor, programme):
    shown = run("day", "plan", "--day", DAY)
    assert shown.exit_code == 0
    for words in ("Wed 13 May", "06:30-06:35", "Outing", "Meal", "in the bowl", "in the pouch", "Nap", "Night"):
        assert words in shown.output, words


def test_programs_get_every_block_with_its_instants(run, actor, programme):
    planned = blocks(run("day", "plan", "--day", DAY, "--json"))
    kinds = {one["kind"] for one in planned}
    assert {"outing", "meal", "nap", "session", "night"} <= kinds
    starts = [datetime.fromisoformat(one["start"]) for one in planned]
    assert starts == sorted(starts)
    assert all(start.utcoffset() == timedelta(0) for start in starts)
    assert len({one["key"] for one in planned}) == len(planned)


def test_plan_from_a_time_of_day_has_nothing_before_it(run, actor, programme):
    planned = blocks(run("day", "plan", "--from", "14:00", "--json"))
    # 14:00 in Lisbon is 13:00 UTC in May
    assert min(one["end"] for one in planned) > "2026-05-12T13:00"


def test_calendar_file_is_read_by_a_calendar(run, actor, programme, tmp_path: Path):
    file = tmp_path / "day.ics"
    planned = blocks(run("day", "plan", "--day", DAY, "--ics", file, "--json"))
    events = icalendar.Calendar.from_ical(file.read_bytes()).walk("VEVENT")
    assert sorted(event.start.isoformat() for event in events) == [one["start"] for one in planned]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--from", "noon"), "is no time of day"),
        (("--from", "25:00"), "is no time of day"),
        (("--day", "tomorrow"), "is no day"),
        (("--day", "2026-05-11"), "is over"),
        (("--day", "2026-08-01"), "the pup is here from"),
        (("--ics", "/no/such/folder/day.ics"), "cannot be written"),
    ],
)
def test_bad_input_is_refused_in_a_sentence(run, actor, programme, arguments, words):
    done = run("day", "plan", "--day", DAY, *arguments) if "--day" not in arguments else run("day", "plan", *arguments)
    assert done.exit_code != 0
    assert words in done.output
    assert "Traceback" not in done.output


def test_without_a_programme_it_says_what_to_do(run, actor):
    done = run("day", "plan")
    assert done.exit_code != 0
    assert "There is no programme yet" in done.output
