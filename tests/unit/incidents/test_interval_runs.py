"""A run with the timer, folded from its taps."""

import itertools
from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.incidents.interval_runs import RunEvent, RunEventKind, Spacing, fold_run, interval_at, multiples
from pupilage.core.incidents.timed_targets import say_too_rare

START = datetime(2026, 5, 12, 8, 0, tzinfo=UTC)


def tap(name, kind, after_s, mean_s=100.0, interval_s=None, withdraws=None):
    at = START + timedelta(seconds=after_s)
    return RunEvent(name, kind, at, mean_s, mean_s if interval_s is None else interval_s, withdraws)


BEGAN = tap("a", RunEventKind.BEGAN, 0)
PAID = tap("b", RunEventKind.PAID, 104)
CAME = tap("c", RunEventKind.CAME, 130)


def fold(*events, mean_s=100.0, spacing=Spacing.FIXED):
    return fold_run(mean_s, spacing, "seed", events)


def test_nothing_is_timed_before_the_first_tap():
    assert (fold().since, fold().due_at, fold().interval_s) == (None, None, 100.0)


def test_stretch_begins_anew_when_paid_and_when_it_came():
    paid = fold(BEGAN, PAID)
    assert (paid.since, paid.run, paid.mean_s) == (PAID.at, 1, 100.0)
    came = fold(BEGAN, PAID, CAME)
    assert (came.since, came.run, came.mean_s, came.due_at) == (CAME.at, 0, 60.0, CAME.at + timedelta(seconds=60))
    assert [(s.kind, s.lasted_s) for s in came.stretches] == [(RunEventKind.PAID, 104.0), (RunEventKind.CAME, 26.0)]


def test_every_order_of_arrival_gives_the_same_run():
    events = [BEGAN, PAID, CAME, tap("d", RunEventKind.PAID, 192, 60.0), tap("e", RunEventKind.ENDED, 200, 60.0)]
    wanted = fold(*events)
    assert (wanted.n_paid, wanted.n_came, wanted.since) == (2, 1, None)
    assert all(fold(*order) == wanted for order in itertools.permutations(events))


def test_tap_taken_back_lets_the_stretch_go_on_from_where_it_began():
    back = tap("d", RunEventKind.WITHDRAWN, 131, 60.0, withdraws="c")
    assert fold(BEGAN, PAID, CAME, back) == fold(BEGAN, PAID)


def test_nothing_is_timed_while_a_wanted_behaviour_has_stopped():
    stopped = fold(BEGAN, PAID, tap("c", RunEventKind.STOPPED, 130))
    assert (stopped.since, stopped.due_at, stopped.n_came, stopped.mean_s) == (None, None, 1, 60.0)
    again = tap("d", RunEventKind.BEGAN, 200, 60.0)
    assert fold(BEGAN, PAID, tap("c", RunEventKind.STOPPED, 130), again).since == again.at


def test_paid_too_soon_counts_neither_way():
    early = fold(BEGAN, tap("b", RunEventKind.PAID, 40))
    assert (early.run, early.n_paid, early.mean_s, early.stretches[0].early) == (0, 0, 100.0, True)
    assert fold(BEGAN, tap("b", RunEventKind.PAID, 99.5)).n_paid == 1


def test_third_in_a_row_lengthens():
    events = [tap(str(n), RunEventKind.PAID, 100 * n) for n in (1, 2, 3)]
    assert [fold(BEGAN, *events[:n]).mean_s for n in (1, 2, 3)] == pytest.approx([100.0, 100.0, 115.0])


def test_variable_list_follows_from_its_seed_and_changes_from_block_to_block():
    first, again = multiples(Spacing.VARIABLE, "a"), multiples(Spacing.VARIABLE, "a")
    assert first == again
    assert first != multiples(Spacing.VARIABLE, "b")
    assert first != multiples(Spacing.VARIABLE, "a", 1)
    assert interval_at(50.0, Spacing.VARIABLE, "a", 12) == pytest.approx(
        50.0 * multiples(Spacing.VARIABLE, "a", 1)[0], abs=0.051
    )


def test_fixed_stretches_are_never_under_five_seconds():
    assert interval_at(2.0, Spacing.FIXED, "", 3) == 5.0


def test_what_comes_seldom_is_better_arranged_for():
    assert say_too_rare(10.0) is None
    assert "about every 45 minutes" in str(say_too_rare(45.0))


def test_of_taps_in_one_instant_the_end_comes_last():
    start = datetime(2026, 5, 12, 8, 0, tzinfo=UTC)
    paid_at = start + timedelta(seconds=121)
    taps = [
        RunEvent("b", RunEventKind.BEGAN, start, 120.0, 120.0, None),
        RunEvent("z", RunEventKind.PAID, paid_at, 120.0, 120.0, None),
        RunEvent("a", RunEventKind.ENDED, paid_at, 120.0, 120.0, None),
    ]
    assert fold_run(120.0, Spacing.FIXED, "seed", taps).n_paid == 1


def test_each_stretch_of_a_variable_run_is_the_next_of_its_list():
    """Fourteen paid, over the end of the list of twelve: no stretch is left out and none comes twice."""
    state = fold(BEGAN, spacing=Spacing.VARIABLE)
    events, at_s = [BEGAN], 0.0
    for n in range(14):
        assert state.n_timed == n
        assert state.interval_s == interval_at(state.mean_s, Spacing.VARIABLE, "seed", n)
        at_s += state.interval_s
        events.append(tap(f"p{n:02}", RunEventKind.PAID, at_s, state.mean_s, state.interval_s))
        state = fold(*events, spacing=Spacing.VARIABLE)
    assert state.n_paid == 14


@pytest.mark.parametrize(("after_s", "n_paid"), [(99.0, 1), (98.995, 0)])
def test_paid_up_to_a_second_before_its_time_is_paid_in_time(after_s, n_paid):
    assert fold(BEGAN, tap("b", RunEventKind.PAID, after_s)).n_paid == n_paid


@pytest.mark.parametrize(("mean_s", "timed_s"), [(10.0495, 10.0), (10.05, 10.1), (4.0, 5.0)])
def test_a_stretch_is_timed_in_tenths_of_a_second_and_halves_go_up(mean_s, timed_s):
    assert interval_at(mean_s, Spacing.FIXED, "seed", 0) == timed_s


def test_the_shortest_stretch_of_a_variable_list_is_a_second():
    assert min(interval_at(8.0, Spacing.VARIABLE, "seed", n) for n in range(12)) == 1.0
