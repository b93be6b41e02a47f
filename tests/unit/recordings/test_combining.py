import pytest

from pupilage.core.recordings.combining import combine_events
from pupilage.core.recordings.events import Event, EventKind, EventSource, EventState
from pupilage.core.recordings.trials import fold_trials

CUE, MARKER = EventKind.CUE, EventKind.MARKER


def heard(start_s: float, label: str = "sit", kind: EventKind = CUE, **more: object) -> Event:
    return Event(start_s, start_s + 0.3, kind, label, **{"confidence": 0.8, **more})


def read(start_s: float, label: str = "sit", kind: EventKind = CUE, **more: object) -> Event:
    return Event(start_s, start_s + 0.3, kind, label, **{"source": EventSource.CAPTIONS, "exact": False, **more})


def test_a_word_heard_and_read_is_one_cue_and_no_repeat() -> None:
    events = combine_events([heard(10.0), heard(12.0, "yes", MARKER)], [read(11.2, "Sit"), read(12.4, "yes", MARKER)])
    (trial,) = fold_trials(events)
    assert (len(events), trial.n_repeats, trial.first_latency_s) == (2, 0, 2.0)


def test_a_repeat_that_both_have_stays_a_repeat() -> None:
    (trial,) = fold_trials(combine_events([heard(10.0), heard(11.5)], [read(10.4), read(11.9)]))
    assert trial.n_repeats == 1


@pytest.mark.parametrize(
    "other", [read(10.4, "down"), read(10.4, kind=EventKind.PRAISE), read(12.1), read(11.1, exact=True)]
)
def test_another_word_another_kind_or_another_time_stays_its_own(other: Event) -> None:
    assert len(combine_events([heard(10.0)], [other])) == 2


def test_the_better_known_start_and_what_a_person_said_are_kept() -> None:
    (one,) = combine_events(
        [heard(10.0, state=EventState.REJECTED)],
        [read(10.4, state=EventState.CONFIRMED, behaviour="sit", speaker="Anna", in_talk=True)],
    )
    assert (one.start_s, one.exact, one.state, one.confidence) == (10.0, True, EventState.CONFIRMED, 0.8)
    assert (one.behaviour, one.speaker, one.in_talk) == ("sit", "Anna", True)


def test_a_start_by_hand_is_kept_over_an_exact_one() -> None:
    (one,) = combine_events([heard(10.0)], [read(10.4, source=EventSource.HAND)])
    assert one.start_s == 10.4


def test_nothing_is_lost_or_doubled_when_one_side_is_empty() -> None:
    assert combine_events([heard(10.0)], []) == (heard(10.0),)
    assert combine_events([], [read(10.0)]) == (read(10.0),)
