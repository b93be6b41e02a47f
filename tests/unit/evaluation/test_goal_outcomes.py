"""What became of a goal: cold tests first, then practice, and never a guess; and what it took to come there."""

from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.own_review.outcomes import Evidence, Road, middle_of, outcome_of, road_to, summarise_roads
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial

SIT = load_bundled().behaviours["sit"]
EASY, GOAL, BEYOND = (SIT.steps[n].key for n in (0, 1, 2))
HANDOVER = datetime(2026, 6, 20, tzinfo=UTC)


def tries(step, outcomes, *, before, kind=SessionKind.TRAINING, session="a"):
    start = HANDOVER - timedelta(days=before)
    words = {"+": Outcome.MET, "-": Outcome.MISSED, "h": Outcome.HELPED, "v": Outcome.VOID}
    return [
        Trial(f"{session}{n}", session, start + timedelta(minutes=n), "sit", step, words[one], kind)
        for n, one in enumerate(outcomes)
    ]


def outcome(*runs):
    return outcome_of(SIT, GOAL, [trial for run in runs for trial in run], handover_at=HANDOVER)


def test_cold_test_outranks_practice():
    warm = tries(GOAL, "++++++++++", before=3)
    cold = tries(GOAL, "++--", before=1, kind=SessionKind.PROBE)
    assert (outcome(warm, cold).met, outcome(warm, cold).evidence) == (False, Evidence.COLD)


def test_eight_of_ten_pass_and_help_and_void_do_not_count_as_met():
    assert outcome(tries(GOAL, "++++++++--", before=3)).met is True
    assert outcome(tries(GOAL, "+++++++---", before=3)).met is False
    assert outcome(tries(GOAL, "+++++++hh+", before=3)).met is True
    assert outcome(tries(GOAL, "+++++++vvv---", before=3)).met is False


def test_harder_steps_count_and_easier_ones_do_not():
    assert outcome(tries(BEYOND, "++++++++++", before=3)).met is True
    assert outcome(tries(EASY, "++++++++++", before=3)).evidence is Evidence.NOT_REACHED
    assert outcome(tries(EASY, "++++++++++", before=3)).met is False


def test_too_few_tries_are_no_outcome():
    assert outcome(tries(GOAL, "+++++++++", before=3)).met is None
    assert outcome().evidence is Evidence.UNKNOWN
    assert outcome(tries(GOAL, "+++", before=1, kind=SessionKind.PROBE)).evidence is Evidence.UNKNOWN


def test_cold_test_of_long_before_the_handover_does_not_count():
    assert outcome(tries(GOAL, "++++++++++", before=9, kind=SessionKind.PROBE)).evidence is Evidence.UNKNOWN


def test_outcome_says_from_when_on_it_was_seen():
    run = tries(GOAL, "--++++++++++", before=3)
    assert outcome(run).since == run[2].at


def test_road_ends_with_the_try_that_made_eight_of_ten():
    runs = [*tries(EASY, "+++++", before=9, session="a"), *tries(GOAL, "--++++++++++", before=7, session="b")]
    assert road_to(SIT, GOAL, runs, UTC) == Road(2, 5 + 10, 3, True)


def test_road_without_the_goal_is_what_was_spent():
    assert road_to(SIT, GOAL, tries(GOAL, "+-+-+-", before=4), UTC) == Road(1, 6, 1, False)
    assert road_to(SIT, GOAL, [], UTC) is None


def test_stays_that_ended_early_move_the_middle_up():
    # By hand: 2, 4, 4+, 6, 8+. S(2) = 4/5, S(4) = 3/5, S(6) = 3/10: the middle is 6; of the reached alone it was 4.
    assert middle_of([(2, True), (4, True), (4, False), (6, True), (8, False)]).value == 6
    assert middle_of([(2, True), (4, False), (4, False), (6, False)]).value is None


@pytest.mark.parametrize("n", [0, 1, 2])
def test_under_three_stays_have_no_middle(n):
    assert summarise_roads([Road(3, 20, 4, True)] * n).sessions is None
