"""Where and with whom: counted by the names of the sessions."""

from datetime import UTC

from engine_cases import START, WAIT, daily_trials
from pupilage.core.handover.places import Standing
from pupilage.core.progress.days import SessionSpan
from pupilage.core.progress.showings import list_people, list_places


def spans(*names: tuple[str, str]) -> dict[str, SessionSpan]:
    """One session a day, with these handlers and places."""
    return {f"s{n}": SessionSpan(START, handler, place) for n, (handler, place) in enumerate(names)}


TRIALS = [*daily_trials(WAIT, "m" * 12), *daily_trials(WAIT, "mxv", day=1), *daily_trials(WAIT, "x" * 12, day=2)]


def test_each_name_has_its_own_count_and_the_newest_comes_first() -> None:
    found = list_places(TRIALS, spans(("", "kitchen"), ("", "park"), ("", "Kitchen ")), UTC)
    assert [(one.name, one.n, one.n_days) for one in found] == [("Kitchen ", 12, 1), ("park", 2, 1), ("kitchen", 12, 1)]


def test_large_and_small_letters_are_one_name_written_as_last() -> None:
    (one,) = list_people(TRIALS, spans(("Aïsha", ""), ("AÏSHA", ""), ("aïsha", "")), UTC)
    assert (one.name, one.n, one.n_days) == ("aïsha", 26, 3)


def test_only_the_newest_twenty_say_how_it_stands() -> None:
    (one,) = list_people(TRIALS, spans(("", ""), ("", ""), ("", "")), UTC)
    assert (one.lately.n, one.lately.n_met, one.standing) == (20, 7, Standing.UNSURE)


def test_twelve_met_of_twelve_works_and_two_tries_are_too_few() -> None:
    found = {one.name: one.standing for one in list_places(TRIALS, spans(("", "a"), ("", "b"), ("", "c")), UTC)}
    assert found == {"a": Standing.WORKS, "b": Standing.FEW, "c": Standing.UNSURE}


def test_nothing_tried_was_shown_nowhere() -> None:
    assert list_places([], {}, UTC) == ()
