"""A behaviour day by day: what is counted, what is timed, and what is not."""

from dataclasses import replace
from datetime import UTC, timedelta, timezone

import pytest

from engine_cases import START, WAIT, daily_trials, hold_trials, series
from pupilage.core.progress.days import SessionSpan, list_days, met_rates, missed_rates
from pupilage.core.training.record.evidence import SessionKind, TrialSource


def spans(*keys: str, before_s: float = 0.0) -> dict[str, SessionSpan]:
    return {key: SessionSpan(START - timedelta(seconds=before_s)) for key in keys}


def test_nothing_tried_has_no_day() -> None:
    assert list_days([], {}, UTC) == ()
    assert list_days(series("vv"), spans("s1"), UTC) == ()


def test_day_counts_every_try_but_the_void_ones() -> None:
    (line,) = list_days(series("mmxhv"), spans("s1"), UTC)
    assert (line.n, line.n_met, line.n_helped, line.step) == (4, 2, 1, "a")


def test_rewards_a_minute_run_from_the_sessions_start_to_its_last_try() -> None:
    """Eleven tries six seconds apart and thirty seconds before: 90 s; nine met and one helped are paid."""
    (line,) = list_days(series("mmmmxmmmmmh"), spans("s1", before_s=30.0), UTC)
    assert line.minutes == pytest.approx(1.5)
    assert line.rewards_per_min == pytest.approx(10 / 1.5)
    assert (met_rates([line])[0].n, missed_rates([line])[0].n) == (9, 1)


def test_one_try_alone_has_no_rate() -> None:
    (line,) = list_days(series("m"), spans("s1"), UTC)
    assert (line.minutes, line.rewards_per_min, met_rates([line])) == (None, None, ())


def test_probes_and_sheets_are_counted_and_not_timed() -> None:
    probe = series("mmmmm", kind=SessionKind.PROBE)
    sheet = [replace(trial, source=TrialSource.IMPORTED) for trial in series("mmmmm", session="s2")]
    (line,) = list_days([*probe, *sheet], spans("s1", "s2"), UTC)
    assert (line.n, line.minutes) == (10, None)


def test_latency_is_the_median_and_the_longest_hold_counts() -> None:
    (line,) = list_days(series("mmm", latencies_s=[1.0, 9.0, 2.0]), spans("s1"), UTC)
    assert (line.latency_s, line.held_s) == (2.0, None)
    (held,) = list_days(hold_trials((12.0, 30.0, True), (31.0, 30.0, False)), spans("s1"), UTC)
    assert held.held_s == 31.0


def test_days_begin_at_midnight_of_the_zone() -> None:
    late = [replace(trial, at=trial.at + timedelta(hours=14, minutes=30)) for trial in series("mm")]
    days = [list_days(late, spans("s1"), zone)[0].day for zone in (UTC, timezone(timedelta(hours=2)))]
    assert (days[1] - days[0]).days == 1


def test_two_days_are_two_lines_in_order() -> None:
    trials = [*daily_trials(WAIT, "mm"), *daily_trials(WAIT, "xx", step=1, day=1)]
    assert [(line.step, line.n_met) for line in list_days(trials, {}, UTC)] == [("a", 2), ("b", 0)]
