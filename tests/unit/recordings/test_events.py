import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Band, Event, EventKind, EventState, band_of, in_time_order


@pytest.mark.parametrize(
    ("confidence", "band"),
    [
        (1.0, Band.SURE),
        (0.7, Band.SURE),
        (0.69, Band.CHECK),
        (0.3, Band.CHECK),
        (0.29, Band.HIDDEN),
        (None, Band.CHECK),
    ],
)
def test_confidence_falls_in_three_bands(confidence: float | None, band: Band) -> None:
    assert band_of(confidence) is band


@pytest.mark.parametrize(("confidence", "band"), [(0.9, Band.CHECK), (None, Band.HIDDEN), (0.1, Band.HIDDEN)])
def test_inside_running_talk_is_one_band_lower(confidence: float | None, band: Band) -> None:
    assert Event(1.0, 1.2, EventKind.CUE, "sit", confidence, in_talk=True).band is band


def test_an_event_is_unchecked_until_somebody_looked() -> None:
    assert Event(1.0, 1.2, EventKind.CUE, "sit").is_unchecked
    assert not Event(1.0, 1.2, EventKind.CUE, "sit", state=EventState.REJECTED).is_unchecked


@pytest.mark.parametrize(
    ("start_s", "end_s", "confidence", "where"),
    [
        (-0.1, 1.0, None, "start_s"),
        (float("nan"), 1.0, None, "start_s"),
        (2.0, 1.0, None, "end_s"),
        (0, 1, 1.1, "confidence"),
    ],
)
def test_impossible_times_and_confidence_are_refused(
    start_s: float, end_s: float, confidence: float, where: str
) -> None:
    with pytest.raises(InvalidInput) as refused:
        Event(start_s, end_s, EventKind.CUE, "sit", confidence)
    assert [problem.where for problem in refused.value.problems] == [where]


def test_events_stand_as_they_were_heard() -> None:
    late, early = Event(2.0, 2.1, EventKind.CLICK, "click"), Event(1.0, 3.0, EventKind.TALK, "")
    assert in_time_order([late, early]) == [early, late]
