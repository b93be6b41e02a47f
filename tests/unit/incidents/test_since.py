from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.incidents.since import Since, curves_since
from pupilage.core.incidents.stretches import Stretch

START = datetime(2026, 5, 4, 6, tzinfo=UTC)
FREE = [Stretch(START + timedelta(days=d), START + timedelta(days=d, hours=4)) for d in range(10)]
WORDS = {
    Since.WAKING: "after waking",
    Since.MEAL: "after a meal",
    Since.OUTING: "after an outing",
    Since.PLAY: "after play",
}


def curve_of(since, minutes):
    ats = [FREE[i % 10].start + timedelta(minutes=m) for i, m in enumerate(minutes)]
    return curves_since(ats, free=FREE, moments={since: [stretch.start for stretch in FREE]})[since]


@pytest.mark.parametrize("since", Since)
def test_time_that_stands_out_is_said_in_words_of_its_own(since):
    says = str(curve_of(since, [5] * 8 + [100, 200]).says)
    assert says.startswith(f"Most often 0 to 15 minutes {WORDS[since]}")
    assert says.endswith("more than chance.")


@pytest.mark.parametrize("since", Since)
def test_what_may_be_chance_is_said_with_its_limits(since):
    says = str(curve_of(since, [5, 20, 40, 70, 90, 110, 150, 190, 220]).says)
    assert says.startswith(f"No time {WORDS[since]} stands out:")
    assert says.endswith("which may be chance.")


def test_time_before_the_first_moment_and_beyond_four_hours_is_in_no_slot():
    late = [Stretch(START, START + timedelta(hours=8))]
    moments = {Since.MEAL: [START + timedelta(hours=1)]}
    curve = curves_since([START, START + timedelta(hours=6)], free=late, moments=moments)[Since.MEAL]
    assert sum(slot.n for slot in curve.slots) == 0
    assert sum(slot.hours for slot in curve.slots) == pytest.approx(4.0)


def test_newest_of_the_moments_counts():
    moments = {Since.PLAY: [START, START + timedelta(minutes=40)]}
    curve = curves_since([START + timedelta(minutes=45)], free=FREE[:1], moments=moments)[Since.PLAY]
    assert [slot.n for slot in curve.slots] == [1, 0, 0, 0, 0]
    assert [slot.hours for slot in curve.slots] == pytest.approx([0.5, 0.5, 0.5 + 1 / 6, 1.0, 80 / 60])


def test_what_was_never_logged_has_no_curve():
    assert curves_since([START], free=FREE, moments={Since.MEAL: []}) == {}
