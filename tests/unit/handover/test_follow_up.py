"""Follow-ups at one, two, four and eight weeks: what is tried, what counts as told, when one is overdue."""

from datetime import UTC, date, datetime, timedelta

import pytest

from pupilage.core.handover.family_log import Entry, EntryKind, count_accidents, standing
from pupilage.core.handover.follow_up import (
    GRACE_DAYS,
    MOST_BEHAVIOURS,
    OPENS_DAYS,
    WEEKS,
    FollowUpState,
    choose_behaviours,
    plan_follow_ups,
)

HANDOVER = date(2026, 5, 23)
AT = datetime(2026, 5, 30, 9, tzinfo=UTC)
KEYS = ["sit", "recall", "stay", "drop", "down"]


def cue(key, *, met=True, week=1, n="1"):
    return Entry(f"{key}-{week}-{n}", EntryKind.CUE, AT, subject=key, met=met, week=week)


def plan(entries=(), *, days=7, chosen=(("sit", "recall"), ("stay",), ("drop",), ("sit",))):
    return plan_follow_ups(chosen, entries, handover_on=HANDOVER, today=HANDOVER + timedelta(days=days))


def test_dates_are_one_two_four_and_eight_weeks_after_the_hand_over():
    assert [one.due_on.isoformat() for one in plan()] == ["2026-05-30", "2026-06-06", "2026-06-20", "2026-07-18"]


def test_every_behaviour_has_its_turn_and_the_weakest_comes_first():
    chances = {"sit": 0.9, "recall": 0.5, "stay": 0.6, "drop": 0.7, "down": 0.8}
    chosen = choose_behaviours(KEYS, lambda key, day: chances[key], handover_on=HANDOVER)
    assert chosen[0] == ("recall", "stay", "drop")
    assert chosen[1] == ("down", "sit", "recall")
    assert all(len(one) == MOST_BEHAVIOURS for one in chosen)
    counts = [sum(key in one for one in chosen) for key in KEYS]
    assert max(counts) - min(counts) <= 1


def test_nothing_that_works_means_nothing_to_try():
    assert choose_behaviours([], lambda key, day: 0.5, handover_on=HANDOVER) == ((),) * len(WEEKS)
    assert {one.state for one in plan(chosen=((),) * 4, days=90)} == {FollowUpState.COMING}


@pytest.mark.parametrize(
    ("days", "state"),
    [
        (6 - OPENS_DAYS, FollowUpState.COMING),
        (7 - OPENS_DAYS, FollowUpState.DUE),
        (7 + GRACE_DAYS, FollowUpState.DUE),
        (8 + GRACE_DAYS, FollowUpState.OVERDUE),
    ],
)
def test_follow_up_opens_before_its_day_and_is_overdue_days_after(days, state):
    assert plan(days=days)[0].state is state


def test_it_is_told_once_every_behaviour_of_it_is():
    assert plan([cue("sit")])[0].state is FollowUpState.PARTLY
    whole = plan([cue("sit"), cue("sit", met=False, n="2"), cue("recall")], days=40)[0]
    assert whole.state is FollowUpState.REPORTED
    assert [(one.behaviour, one.n_met, one.n) for one in whole.tried] == [("sit", 1, 2), ("recall", 1, 1)]


def test_entry_that_names_no_week_counts_for_none():
    assert plan([cue("sit", week=None), cue("recall", week=2)])[0].state is FollowUpState.DUE


def test_what_was_taken_back_does_not_stand():
    gone = Entry("w", EntryKind.WITHDRAWN, AT, withdraws="sit-1-1")
    assert standing([cue("sit"), gone, cue("recall")]) == [cue("recall")]


def test_accidents_are_counted_in_their_span():
    told = [
        Entry(str(n), EntryKind.OUTING, AT + timedelta(days=n), subject=word)
        for n, word in enumerate(["accident", "done", "accident", "accident"])
    ]
    assert count_accidents(told, since=AT, until=AT + timedelta(days=2)) == 2
