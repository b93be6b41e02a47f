from datetime import UTC, datetime, timedelta

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.incidents.context import Context, context_as_stored, context_from_stored, context_of

NOW = datetime(2026, 5, 12, 12, tzinfo=UTC)


def ago(minutes, kind, detail=""):
    return CareEvent(f"{minutes}", CareKind(kind), NOW - timedelta(minutes=minutes), CareDetail(detail))


LOG = [
    ago(1500, "meal"),
    ago(95, "nap", "end"),
    ago(90, "outing", "wee"),
    ago(80, "meal"),
    ago(40, "crate", "end"),
    ago(30, "crate", "start"),
    ago(12, "play", "start"),
    ago(5, "play", "end"),
]


def test_newest_of_each_counts_in_whole_minutes():
    found = context_of(LOG, [NOW - timedelta(minutes=200, seconds=40)], NOW)
    assert found == Context(waking_min=40, meal_min=80, outing_min=90, play_min=5, session_min=200)


def test_what_came_later_or_more_than_a_day_before_is_not_known():
    assert context_of(LOG, [], NOW - timedelta(minutes=85)) == Context(waking_min=10, outing_min=5, meal_min=1415)
    assert context_of([ago(1500, "meal")], [], NOW) == Context()


def test_what_is_stored_comes_back_the_same():
    found = Context(waking_min=0, play_min=3)
    assert context_from_stored(context_as_stored(found)) == found
    assert context_from_stored({}) is None
    assert context_from_stored({"moon_min": 3, "meal_min": 4}) == Context(meal_min=4)
