"""The look back: what counts as an outcome, that forecasts know nothing of what came later, and who may read it."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest

from pupilage.core.errors import Forbidden
from pupilage.core.own_review.outcomes import Evidence
from pupilage.core.own_review.replay import SessionLog, moments_of, trials_as_of
from pupilage.core.planning.standing import Frame
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Outcome, SessionKind, TrialSource
from pupilage.services.read_own_review import read_own_review
from pupilage.services.record_events import record_events
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import ReplayedStay, SessionEvent
from pupilage.storage.queries.sessions import event_of

DAYS = 20


@pytest.fixture
def ended(actor, new_programme, new_session, now):
    """Six stays of 20 days that ended yesterday, of one goal; half of the pups meet it in a cold test."""
    step = load_catalogue().behaviours["sit"].steps[1].key
    today = now.date()
    made = []
    for n in range(6):
        arrival = today - timedelta(days=DAYS + 1)
        programme = new_programme(
            actor, n_goals=0, arrival_on=arrival, handover_on=today - timedelta(days=1), vet_dates=()
        )
        set_goals(actor, programme, [GoalChoice("sit", step, 3)], now=now)
        begin = now - timedelta(days=DAYS + 1)
        for day in range(1, DAYS - 4, 3):
            good = n < 3 or day < 5
            at = begin + timedelta(days=day)
            new_session(actor, programme, "sit", step, ["met"] * (9 if good else 4) + ["missed"] * 3, at=at)
        test = ["met"] * (9 if n < 3 else 2) + ["missed"] * (1 if n < 3 else 8)
        at = now - timedelta(days=1, hours=2)
        new_session(actor, programme, "sit", step, test, at=at, kind=SessionKind.PROBE)
        made.append(programme)
    return made


def test_nothing_recorded_yet_is_said_and_scored_as_nothing(actor, now):
    found = read_own_review(actor, now=now)
    assert (found.n_stays, found.n_forecasts, found.scores, found.roads) == (0, 0, None, ())
    assert found.slips.repeated_cues is None
    assert found.slips.taken_back is None


def test_six_ended_stays_are_replayed_once_and_compared_with_their_tests(actor, ended, now):
    found = read_own_review(actor, now=now)
    assert found.n_stays == 6
    assert found.by_evidence == {Evidence.COLD: 6}
    assert found.n_forecasts == 18
    assert found.scores is None  # 18 of 20: not enough yet is a result
    kept = {row.id: row.made_at for row in ReplayedStay.objects.all()}
    assert len(kept) == 6
    again = read_own_review(actor, now=now + timedelta(hours=1))
    assert again == found
    assert {row.id: row.made_at for row in ReplayedStay.objects.all()} == kept


def test_forecast_knows_nothing_of_what_came_after_its_evening(actor, ended, new_session, now):
    step = load_catalogue().behaviours["sit"].steps[1].key
    read_own_review(actor, now=now)
    before = ReplayedStay.objects.get(programme=ended[0]).body
    late = now - timedelta(days=3)
    for _ in range(3):
        new_session(actor, ended[0], "sit", step, ["missed"] * 20, at=late)
    read_own_review(actor, now=now)
    after = ReplayedStay.objects.get(programme=ended[0])
    assert after.body["told"] == before["told"]
    assert ReplayedStay.objects.count() == 6


def test_correction_made_later_does_not_change_what_was_known_then(actor, ended, now):
    events = [event_of(row) for row in SessionEvent.objects.filter(kind="trial")]
    trial = min((e for e in events if e.payload["outcome"] == "met"), key=lambda e: e.at)
    payload = {"event": trial.id, "outcome": "missed"}
    corrected = Event(str(uuid4()), str(uuid4()), 0, trial.session_id, EventKind.CORRECTED, now, 0, payload)
    record_events(actor, [corrected], now=now)
    rows = SessionEvent.objects.filter(session_id=trial.session_id)
    log = SessionLog(tuple(event_of(row) for row in rows), TrialSource.TAPPED)

    def outcome(at):
        return next(t.outcome for t in trials_as_of([log], at) if t.event_id == trial.id)

    assert outcome(now - timedelta(days=2)) is Outcome.MET
    assert outcome(now) is Outcome.MISSED


def test_roads_end_at_the_goal_or_are_counted_as_going_on(actor, ended, now):
    (road,) = read_own_review(actor, now=now).roads
    assert (road.summary.n, road.summary.n_reached) == (6, 6)
    assert road.summary.tries.value == 10  # 9 met of the first 10 tries of the first session
    assert road.summary.sessions.value == 1


def test_moments_are_evenings_within_the_stay(now):
    day = now.date()
    frame = Frame(day - timedelta(days=60), day, day + timedelta(days=20), 4, now.tzinfo)
    assert [(at.date() - day).days for at in moments_of(frame)] == [5, 10, 15]
    short = replace(frame, handover_on=day + timedelta(days=1))
    assert [(at.date() - day).days for at in moments_of(short)] == [0]


def test_only_the_keeper_may_look(reader, stranger, ended, now):
    with pytest.raises(Forbidden):
        read_own_review(reader, now=now)
    assert read_own_review(stranger, now=now).n_stays == 0


def test_stays_beyond_the_time_there_is_wait_and_are_said(actor, ended, now):
    first = read_own_review(actor, now=now, most_new_s=0.0)
    assert (first.n_stays, first.n_waiting, first.n_worked_out, first.n_forecasts) == (6, 5, 1, 3)
    second = read_own_review(actor, now=now, most_new_s=0.0)
    assert (second.n_waiting, second.n_forecasts) == (4, 6)
    assert read_own_review(actor, now=now).n_waiting == 0
