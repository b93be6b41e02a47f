"""Who needs a call: each reason by its rule, and how often the rule errs in made families."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest

from pupilage.core.handover.calls import OwnAccidents, Reason, reasons_to_call
from pupilage.core.handover.family_log import Entry, EntryKind
from pupilage.core.handover.follow_up import FollowUp, FollowUpState, Tried
from pupilage.core.handover.kept import Kept, hold_against
from pupilage.core.simulation.families import MadeFamily, alarms
from pupilage.core.training.posterior.reading import Reading, middles

NOW = datetime(2026, 6, 10, 9, tzinfo=UTC)
QUIET = OwnAccidents(1, 14.0)


def entry(kind, subject="", *, days_ago=1.0, n=0):
    return Entry(f"{kind}-{subject}-{n}", kind, NOW - timedelta(days=days_ago), subject=subject)


def accidents(n, *, days_ago=1.0):
    return [entry(EntryKind.OUTING, "accident", days_ago=days_ago, n=i) for i in range(n)]


def why(entries=(), kept=(), follow_ups=(), own=QUIET, **given):
    return [one.reason for one in reasons_to_call(entries, kept, follow_ups, own, now=NOW, **given)]


def forecast(mean_logit=1.5, sd=0.5):
    p = middles()
    mass = np.exp(-0.5 * ((np.log(p / (1 - p)) - mean_logit) / sd) ** 2) / (p * (1 - p))
    mass = mass / mass.sum()
    return Reading(float(mass @ p), mass=mass)


def told(n_met, n):
    return hold_against(forecast(), [(forecast(), i < n_met) for i in range(n)], behaviour="sit", step="word")


def test_nothing_told_is_no_reason():
    assert why() == []


def test_they_asked():
    assert why([entry(EntryKind.CALL_ME)]) == [Reason.ASKED]


@pytest.mark.parametrize("key", ["guarding", "distress-alone"])
def test_one_time_of_what_is_dangerous_is_enough(key):
    assert why([entry(EntryKind.INCIDENT, key)]) == [Reason.AT_ONCE]
    assert why([entry(EntryKind.INCIDENT, "digging")]) == []


def test_accidents_more_often_than_before():
    assert why(accidents(2), own=OwnAccidents(0, 14.0)) == []
    assert why(accidents(3), own=OwnAccidents(0, 14.0)) == [Reason.ACCIDENTS]
    assert why(accidents(3), own=OwnAccidents(5, 14.0)) == []
    assert why(accidents(9), own=OwnAccidents(5, 14.0)) == [Reason.ACCIDENTS]
    assert why(accidents(9, days_ago=8.0)) == []


def test_accidents_without_a_record_of_ours_are_told_of_as_that():
    found = reasons_to_call(accidents(3), [], [], OwnAccidents(0, 0.0), now=NOW)
    assert "no record of ours" in str(found[0].words)


def test_weaker_than_forecast_needs_five_entries_and_a_rare_count():
    assert why(kept=[told(0, 4)]) == []
    assert why(kept=[told(1, 6)]) == [Reason.FALLEN]
    assert why(kept=[told(4, 6)]) == []


def test_more_successes_never_make_a_call_likelier():
    chances = [told(n, 10).p_as_few for n in range(11)]
    assert chances == sorted(chances)
    assert chances[-1] == pytest.approx(1.0)


def test_behaviour_without_entries_has_a_forecast_and_no_verdict():
    kept = hold_against(forecast(), [], behaviour="sit", step="word")
    assert isinstance(kept, Kept)
    assert (kept.n, kept.p_as_few) == (0, None)
    assert kept.low < kept.p < kept.high


def test_overdue_follow_up_is_told_and_a_call_settles_it():
    late = FollowUp(1, date(2026, 5, 30), (Tried("sit", 0, 0),), FollowUpState.OVERDUE)
    assert why(follow_ups=[late]) == [Reason.OVERDUE]
    assert why(follow_ups=[late], called_at=NOW - timedelta(days=2)) == []


def test_a_call_settles_what_was_told_before_it():
    entries = [entry(EntryKind.CALL_ME, days_ago=2.0), entry(EntryKind.INCIDENT, "guarding", days_ago=2.0)]
    assert why(entries, called_at=NOW - timedelta(days=1)) == []
    assert why(entries, called_at=NOW - timedelta(days=3)) == [Reason.ASKED, Reason.AT_ONCE]


def test_rule_errs_seldom_and_finds_what_has_gone_wrong():
    # 80 families each; the standard error of a share is at most 0.056. Found with 300: see docs/science.
    rng = np.random.default_rng(20261126)
    well = alarms(MadeFamily(), n=80, rng=rng)
    forgotten = alarms(MadeFamily(keeps=-1.5), n=80, rng=rng)
    soiling = alarms(MadeFamily(accident_times=6.0), n=80, rng=rng)
    assert well.fallen < 0.25
    assert well.accidents < 0.30
    assert forgotten.fallen > 0.60
    assert soiling.accidents > 0.90
