"""Whether another session of the same behaviour is for today."""

import pytest

from pupilage.core.planning.again import judge_again
from pupilage.core.planning.proposal import MAX_SESSIONS_A_DAY
from pupilage.core.training.criterion.watching import Suggestion, Watch
from pupilage.core.words import sentence


def watch(suggestion: Suggestion) -> Watch:
    return Watch(suggestion, "rule", sentence("Seen."))


def test_second_session_is_for_today_after_a_rest():
    again = judge_again(1, ())
    assert again.today
    assert "after a nap" in str(again.reason)


def test_no_more_sessions_in_a_day_than_a_day_is_given():
    """Two a day at most: one taught better than three in a row (Demant et al., 2011, Appl. Anim. Behav. Sci.)."""
    assert [judge_again(n, ()).today for n in range(5)] == [True, True, False, False, False]
    assert judge_again(MAX_SESSIONS_A_DAY - 1, ()).today
    assert "3 today are enough" in str(judge_again(3, ()).reason)


@pytest.mark.parametrize("suggestion", [Suggestion.END, Suggestion.BREAK])
@pytest.mark.parametrize("n_today", [1, MAX_SESSIONS_A_DAY])
def test_pup_that_had_enough_has_no_other_however_few_there_were(suggestion: Suggestion, n_today: int):
    again = judge_again(n_today, (watch(Suggestion.EASIER), watch(suggestion)))
    assert not again.today
    assert "had enough" in str(again.reason)


@pytest.mark.parametrize("suggestion", [Suggestion.EASIER, Suggestion.OTHER_REINFORCER])
def test_suggestion_that_goes_on_with_the_session_forbids_no_other(suggestion: Suggestion):
    assert judge_again(1, (watch(suggestion),)).today


def test_every_suggestion_is_one_that_stops_or_one_that_goes_on():
    stops = {one for one in Suggestion if not judge_again(1, (watch(one),)).today}
    assert stops == {Suggestion.END, Suggestion.BREAK}
