import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.handling import handling_of, times_of
from pupilage.core.recordings.trial_rules import TrialRules

CUE, MARKER, REWARD, TALK = EventKind.CUE, EventKind.MARKER, EventKind.REWARD, EventKind.TALK


def at(start_s: float, kind: EventKind, label: str = "sit", length_s: float = 0.2, **more: object) -> Event:
    return Event(start_s, start_s + length_s, kind, label, **{"state": EventState.CONFIRMED, **more})


def a_session() -> list[Event]:
    """Eight trials twenty seconds apart: two with a repeat; rewards after six markers, two of them late."""
    events: list[Event] = []
    for i in range(8):
        events.append(at(20 * i + 1, CUE))
        if i in (2, 5):
            events.append(at(20 * i + 3, CUE))
        events.append(at(20 * i + 4 + i / 10, MARKER, "yes"))
        if i < 6:
            events.append(at(20 * i + 4 + i / 10 + (5 if i < 2 else 1), REWARD, "food"))
    return [*events, at(10, TALK, "", 6.0), at(30, TALK, "", 4.0)]


def test_counts_come_with_their_limits() -> None:
    counts = handling_of(a_session(), duration_s=160)
    assert (counts.repeated.n, counts.repeated.of) == (2, 8)
    assert (counts.repeated.low, counts.repeated.high) == pytest.approx((0.0319, 0.6509), abs=1e-4)
    assert (counts.late_rewards.n, counts.late_rewards.of) == (2, 6)
    assert (counts.unrewarded.n, counts.unrewarded.of) == (2, 8)
    assert counts.cue_to_marker.median_s == pytest.approx(3.35)
    assert counts.talk.seconds_per_min == pytest.approx(3.75)
    assert counts.talk.n_runs == 2
    assert counts.talk.low_per_min < counts.talk.runs_per_min < counts.talk.high_per_min
    assert set(counts.repeated_by_cue) == {"sit"}


def test_sentences_count_and_do_not_blame() -> None:
    said = " ".join(str(one) for one in handling_of(a_session(), duration_s=160).sentences)
    assert "more than once: 2 of 8" in said
    assert "after the marker: 2 of 6" in said
    assert not {"wrong", "mistake", "bad", "should", "fail"} & set(said.lower().replace(".", " ").split())


def test_without_a_noted_reward_nothing_is_said_about_rewards() -> None:
    counts = handling_of([event for event in a_session() if event.kind is not REWARD], duration_s=160)
    assert (counts.unrewarded, counts.late_rewards, counts.marker_to_reward) == (None, None, None)
    assert any("food makes no sound" in str(one) for one in counts.sentences)


def test_an_empty_recording_counts_nothing() -> None:
    counts = handling_of([], duration_s=60)
    assert (counts.repeated, counts.talk, counts.sentences) == (None, None, ())


def test_unchecked_suggestions_are_told_of() -> None:
    counts = handling_of([at(1, CUE, state=EventState.SUGGESTED, confidence=0.8)], duration_s=60)
    assert counts.n_unchecked == 1
    assert "not yet checked: 1" in str(counts.sentences[-1])


def test_what_is_late_can_be_set() -> None:
    assert handling_of(a_session(), duration_s=160, rules=TrialRules(late_reward_s=1.0)).late_rewards.n == 6


def test_under_six_times_there_are_no_limits() -> None:
    assert times_of([]) is None
    assert times_of([3, 1, 2]).low_s is None


@pytest.mark.parametrize("duration_s", [0.0, -1.0, float("nan")])
def test_a_recording_without_length_is_refused(duration_s: float) -> None:
    with pytest.raises(InvalidInput):
        handling_of([], duration_s=duration_s)
