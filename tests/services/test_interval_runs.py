"""Runs with the timer are stored as they were tapped, once, and stand again after a restart."""

from datetime import timedelta
from uuid import uuid4

import pytest

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.core.incidents.interval_runs import RunEvent, RunEventKind, Spacing
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.services.read_interval_runs import read_interval_run, read_interval_runs
from pupilage.services.record_run_events import record_run_events
from pupilage.services.start_interval_run import RunStart, start_interval_run
from pupilage.storage.models import AuditEntry, IntervalRun
from pupilage.storage.models import RunEvent as RunEventRow

pytestmark = pytest.mark.django_db

COUNTED = RunStart("mouthing-hands", Spacing.FIXED, 12, 30.0)


@pytest.fixture
def run_id(actor, dog, now):
    return start_interval_run(actor, dog, COUNTED, now=now)


def taps(now):
    """Begun, paid after two minutes, came half a minute later."""
    after = [(RunEventKind.BEGAN, 0), (RunEventKind.PAID, 121), (RunEventKind.CAME, 151)]
    return [RunEvent(str(uuid4()), kind, now + timedelta(seconds=s), 120.0, 120.0) for kind, s in after]


def test_run_begins_below_the_mean_time_between_two(actor, run_id):
    page = read_interval_run(actor, run_id)
    assert (page.first_mean_s, page.state.interval_s, page.baseline_from_log) == (120.0, 120.0, False)


def test_pushing_twice_and_in_parts_is_pushing_once(actor, run_id, now):
    events = taps(now)
    record_run_events(actor, run_id, events[2:], now=now)
    for _ in range(2):
        assert record_run_events(actor, run_id, events, now=now) == tuple(event.id for event in events)
    state = read_interval_run(actor, run_id).state
    assert (RunEventRow.objects.count(), state.n_paid, state.n_came, state.mean_s) == (3, 1, 1, 72.0)
    assert AuditEntry.objects.filter(action="record-run-events").count() == 2


def test_same_form_sent_twice_starts_one_run(actor, dog, now):
    start = RunStart("mouthing-hands", Spacing.VARIABLE, 12, 30.0, run_id=uuid4())
    first = start_interval_run(actor, dog, start, now=now)
    seed = IntervalRun.objects.get(id=first).seed
    assert start_interval_run(actor, dog, start, now=now) == first
    assert IntervalRun.objects.get().seed == seed


def test_log_gives_the_first_stretch_where_it_is_thick_enough(actor, dog, now):
    for minutes, kind, detail in ((301, CareKind.NAP, CareDetail.END), (1, CareKind.OUTING, CareDetail.WEE)):
        log_care(actor, dog, CareEntry(kind, now - timedelta(minutes=minutes), detail), now=now)
    assert read_interval_runs(actor, dog, target="mouthing-hands", now=now).baseline is None
    for minutes in range(10, 290, 14):  # twenty in five free hours: one in fifteen minutes
        at = now - timedelta(minutes=minutes)
        log_incident(actor, dog, IncidentEntry("mouthing-hands", at), now=now)
    baseline = read_interval_runs(actor, dog, target="mouthing-hands", now=now).baseline
    assert (baseline.n, baseline.minutes) == (20, pytest.approx(300.0))
    assert baseline.first.seconds == pytest.approx(0.8 * 15 * 60)
    assert baseline.too_rare is None


def test_behaviours_that_a_timer_does_not_suit_are_named_with_what_to_do(actor, dog, now):
    page = read_interval_runs(actor, dog, target="guarding", now=now)
    assert "guarding" not in page.targets
    assert "veterinary behaviourist" in str(page.unsuited)
    assert {"mouthing-hands", "settle-on-mat"} <= set(page.targets)
    with pytest.raises(InvalidInput, match="behaviourist"):
        start_interval_run(actor, dog, RunStart("guarding", Spacing.FIXED, 3, 10.0), now=now)


@pytest.mark.parametrize(
    ("target", "n", "minutes", "where"),
    [
        ("moonwalk", 3, 10.0, ["target"]),
        ("mouthing-hands", 0, 10.0, ["n"]),
        ("mouthing-hands", 0, float("nan"), ["n", "minutes"]),
    ],
)
def test_everything_wrong_with_a_start_is_told_at_once(actor, dog, now, target, n, minutes, where):
    with pytest.raises(InvalidInput) as refused:
        start_interval_run(actor, dog, RunStart(target, Spacing.FIXED, n, minutes), now=now)
    assert [problem.where for problem in refused.value.problems] == where
    assert not IntervalRun.objects.exists()


def test_events_that_cannot_be_are_refused_whole(actor, run_id, now):
    bad = RunEvent(str(uuid4()), RunEventKind.WITHDRAWN, now, 0.0, 120.0)
    with pytest.raises(InvalidInput) as refused:
        record_run_events(actor, run_id, [*taps(now), bad], now=now)
    assert [problem.where for problem in refused.value.problems] == ["mean_s", "withdraws"]
    assert not RunEventRow.objects.exists()


def test_event_of_another_run_is_refused(actor, dog, run_id, now):
    events = taps(now)
    record_run_events(actor, run_id, events, now=now)
    other = start_interval_run(actor, dog, COUNTED, now=now)
    with pytest.raises(Conflict):
        record_run_events(actor, other, events, now=now)


def test_reader_may_read_and_not_write_and_a_stranger_sees_nothing(actor, reader, stranger, dog, run_id, now):
    assert read_interval_run(reader, run_id).id == run_id
    for refused in (
        lambda: record_run_events(reader, run_id, taps(now), now=now),
        lambda: start_interval_run(reader, dog, COUNTED, now=now),
    ):
        with pytest.raises(Forbidden):
            refused()
    with pytest.raises(NotFound):
        read_interval_run(stranger, run_id)
    with pytest.raises(NotFound):
        record_run_events(stranger, run_id, taps(now), now=now)


def test_log_of_a_run_is_never_changed(actor, run_id, now):
    record_run_events(actor, run_id, taps(now), now=now)
    with pytest.raises(Conflict):
        RunEventRow.objects.update(mean_s=1.0)
