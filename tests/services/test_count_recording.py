"""Checked trials of a recording enter the log once, are put right by counting again, and merge with tapped ones."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from uuid import UUID

import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.reading import WordRole
from pupilage.core.training.record.evidence import Outcome, TrialSource
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.correct_recording import correct_recording
from pupilage.services.count_recording import count_recording, session_id_of
from pupilage.services.export_recording import FileFormat, export_recording
from pupilage.services.judge_recording import Judgement, judge_events, take_judgement_back
from pupilage.services.keep_voice import VoiceEntry, choose_voices, keep_voice
from pupilage.services.keep_word import WordEntry, keep_word
from pupilage.services.read_recording import read_recording
from pupilage.services.read_waiting import Heard, read_waiting
from pupilage.storage.models import Recording, SessionEvent, TrainingSession, Trial
from pupilage.storage.queries.recordings import list_recording_events, recording_readable_by
from pupilage.web.review_state import agreement_lines

GAPS_S = (9.0, 13.0, 8.5, 21.0, 11.0, 17.5)
"""Seconds between tries: uneven, so that there is one way only in which tapped and heard ones fit."""


def tries(behaviour: str, first_s: float = 5.0) -> list[Event]:
    at_s, events = first_s, []
    for gap_s in (0.0, *GAPS_S):
        at_s += gap_s
        events.append(Event(at_s, at_s + 0.4, EventKind.CUE, behaviour, 0.9, behaviour=behaviour))
        events.append(Event(at_s + 1.5, at_s + 1.8, EventKind.MARKER, "yes", 0.9))
    return events


@pytest.fixture
def heard(actor: Actor, dog: UUID, programme: UUID, now: datetime) -> Callable[..., UUID]:
    """Return a function that brings in a recording in which these events were heard."""

    def make(
        events: Sequence[Event], *, began_at: datetime | None = now - timedelta(hours=1), duration_s: float = 300.0
    ) -> UUID:
        new = NewRecording("garden.wav", 4, began_at=began_at, programme_id=programme)
        recording_id = begin_recording(actor, dog, new, now=now)
        add_bytes(actor, recording_id, 0, [b"RIFF"], now=now)
        reading = Heard([(event, None) for event in events], duration_s=duration_s, result={"onsets_s": [5.0]})
        read_waiting("reader", lambda _recording, _told: reading, lambda: now)
        return recording_id

    return make


def check_all(actor: Actor, recording_id: UUID, now: datetime, *, outcome: Outcome = Outcome.MET) -> None:
    events = list_recording_events(recording_readable_by(actor, recording_id))
    judgements = [
        Judgement(UUID(e.id), EventState.CONFIRMED, outcome=outcome if e.kind is EventKind.CUE else None)
        for e in events
        if e.kind is not EventKind.OUTCOME
    ]
    judge_events(actor, recording_id, judgements, now=now)


def outcomes(session_id: UUID) -> list[str]:
    return list(Trial.objects.filter(session_id=session_id).order_by("at").values_list("outcome", flat=True))


def first_cue(actor: Actor, recording_id: UUID) -> Event:
    return list_recording_events(recording_readable_by(actor, recording_id))[0]


def test_checked_tries_become_one_session_a_behaviour_marked_as_recorded(
    actor: Actor, heard: Callable[..., UUID], now: datetime
) -> None:
    recording_id = heard([*tries("sit"), *tries("down", 150.0)])
    check_all(actor, recording_id, now)
    counted = count_recording(actor, recording_id, steps(), now=now)
    assert [(one.behaviour, one.n_written) for one in counted.behaviours] == [("sit", 7), ("down", 7)]
    for key in ("sit", "down"):
        session = TrainingSession.objects.get(id=session_id_of(recording_id, key))
        assert session.source == TrialSource.RECORDED
        assert outcomes(session.id) == ["met"] * 7
        assert set(session.trials.values_list("source", flat=True)) == {"recorded"}
    page = read_recording(actor, recording_id)
    assert len(page.sessions) == 2


def first_step(key: str) -> str:
    from pupilage.storage.catalogue_files import load_catalogue

    return load_catalogue().behaviours[key].steps[0].key


def steps() -> dict[str, str]:
    return {key: first_step(key) for key in ("sit", "down", "stay")}


def test_counting_twice_writes_nothing_the_second_time(actor: Actor, heard: Callable[..., UUID], now: datetime) -> None:
    recording_id = heard(tries("sit"))
    check_all(actor, recording_id, now)
    count_recording(actor, recording_id, steps(), now=now)
    n = SessionEvent.objects.count()
    again = count_recording(actor, recording_id, steps(), now=now + timedelta(minutes=1))
    assert [one.n_written for one in again.behaviours] == [0]
    assert SessionEvent.objects.count() == n


def test_counting_again_writes_only_what_was_put_right(actor: Actor, heard: Callable[..., UUID], now: datetime) -> None:
    recording_id = heard(tries("sit"))
    check_all(actor, recording_id, now)
    count_recording(actor, recording_id, steps(), now=now)
    session_id, cue = session_id_of(recording_id, "sit"), first_cue(actor, recording_id)
    n = SessionEvent.objects.count()

    judged = Judgement(UUID(cue.id), EventState.CONFIRMED, outcome=Outcome.MISSED)
    judge_events(actor, recording_id, [judged], now=now)
    count_recording(actor, recording_id, steps(), now=now)
    assert outcomes(session_id) == ["missed"] + ["met"] * 6
    assert SessionEvent.objects.count() == n + 1

    judge_events(actor, recording_id, [Judgement(UUID(cue.id), EventState.REJECTED)], now=now)
    count_recording(actor, recording_id, steps(), now=now)
    assert outcomes(session_id) == ["met"] * 6
    assert SessionEvent.objects.count() == n + 2

    take_judgement_back(actor, recording_id, now=now)
    count_recording(actor, recording_id, steps(), now=now)
    assert outcomes(session_id) == ["missed"] + ["met"] * 6, "taking back the withdrawal restores the try"
    assert SessionEvent.objects.count() == n + 3

    judge_events(actor, recording_id, [Judgement(UUID(cue.id), EventState.REJECTED)], now=now)
    for _ in range(2):
        count_recording(actor, recording_id, steps(), now=now)
    assert outcomes(session_id) == ["met"] * 6
    assert SessionEvent.objects.count() == n + 4


def test_a_moved_cue_is_a_try_at_another_moment(actor: Actor, heard: Callable[..., UUID], now: datetime) -> None:
    recording_id = heard(tries("sit"))
    check_all(actor, recording_id, now)
    count_recording(actor, recording_id, steps(), now=now)
    cue = first_cue(actor, recording_id)
    moved = Judgement(UUID(cue.id), EventState.CONFIRMED, start_s=5.25, outcome=Outcome.MET)
    judge_events(actor, recording_id, [moved], now=now)
    count_recording(actor, recording_id, steps(), now=now)
    first = Trial.objects.filter(session_id=session_id_of(recording_id, "sit")).order_by("at").first()
    assert first is not None
    assert first.at == now - timedelta(hours=1) + timedelta(seconds=5.25)
    assert len(outcomes(session_id_of(recording_id, "sit"))) == 7


def test_another_step_told_later_is_the_step_of_all_its_tries(
    actor: Actor, heard: Callable[..., UUID], now: datetime
) -> None:
    from pupilage.storage.catalogue_files import load_catalogue

    recording_id = heard(tries("sit"))
    check_all(actor, recording_id, now)
    count_recording(actor, recording_id, steps(), now=now)
    second = load_catalogue().behaviours["sit"].steps[1].key
    count_recording(actor, recording_id, {"sit": second}, now=now)
    rows = Trial.objects.filter(session_id=session_id_of(recording_id, "sit"))
    assert set(rows.values_list("step", flat=True)) == {second}
    assert rows.count() == 7


def test_what_is_unchecked_or_unanswered_stays_out_and_is_counted(
    actor: Actor, heard: Callable[..., UUID], now: datetime
) -> None:
    recording_id = heard(tries("sit"))
    counted = count_recording(actor, recording_id, {}, now=now)
    assert (counted.behaviours, counted.n_unsettled) == ((), 7)
    events = list_recording_events(recording_readable_by(actor, recording_id))
    judge_events(actor, recording_id, [Judgement(UUID(e.id), EventState.CONFIRMED) for e in events], now=now)
    counted = count_recording(actor, recording_id, {}, now=now)
    assert (counted.behaviours, counted.n_unanswered) == ((), 7)
    assert not TrainingSession.objects.exists()


def test_tries_of_a_cue_that_asks_for_nothing_are_named_and_count_once_its_voice_says_what_it_asks_for(
    actor: Actor, heard: Callable[..., UUID], now: datetime
) -> None:
    recording_id = heard([replace(event, behaviour="") for event in tries("sit")])
    check_all(actor, recording_id, now)
    counted = count_recording(actor, recording_id, {}, now=now)
    assert (counted.behaviours, counted.n_unanswered, counted.unasked) == ((), 0, ("sit",) * 7)
    voice_id = keep_voice(actor, VoiceEntry("Ada"), now=now)
    keep_word(actor, voice_id, WordEntry("Sit", WordRole.CUE, "sit"), now=now)
    choose_voices(actor, recording_id, [voice_id], now=now)
    counted = count_recording(actor, recording_id, steps(), now=now)
    assert (len(outcomes(session_id_of(recording_id, "sit"))), counted.unasked) == (7, ())


def test_a_hollow_suggestion_beside_a_try_keeps_it_out_until_it_is_looked_at(
    actor: Actor, heard: Callable[..., UUID], now: datetime
) -> None:
    hollow = Event(6.0, 6.4, EventKind.CUE, "sit", 0.4, behaviour="sit")
    recording_id = heard([*tries("sit"), hollow])
    events = list_recording_events(recording_readable_by(actor, recording_id))
    judgements = [
        Judgement(UUID(e.id), EventState.CONFIRMED, outcome=Outcome.MET if e.kind is EventKind.CUE else None)
        for e in events
        if e.confidence != 0.4
    ]
    judge_events(actor, recording_id, judgements, now=now)
    counted = count_recording(actor, recording_id, steps(), now=now)
    assert counted.n_unsettled == 1
    assert len(outcomes(session_id_of(recording_id, "sit"))) == 6


def test_a_recording_without_a_beginning_asks_for_it_once(
    actor: Actor, heard: Callable[..., UUID], now: datetime
) -> None:
    recording_id = heard(tries("sit"), began_at=None)
    check_all(actor, recording_id, now)
    with pytest.raises(InvalidInput, match="when this recording began"):
        count_recording(actor, recording_id, steps(), now=now)
    count_recording(actor, recording_id, steps(), now=now, began_at=now - timedelta(hours=2))
    assert Recording.objects.get(id=recording_id).began_at == now - timedelta(hours=2)
    assert count_recording(actor, recording_id, steps(), now=now).behaviours[0].n_written == 0


def test_a_hold_counts_its_seconds(actor: Actor, heard: Callable[..., UUID], now: datetime) -> None:
    from pupilage.storage.catalogue_files import load_catalogue

    step = next(one for one in load_catalogue().behaviours["stay"].steps if one.criterion.duration_s > 0)
    target_s = step.criterion.duration_s
    cue = Event(5.0, 5.4, EventKind.CUE, "stay", 0.9, behaviour="stay")
    free = Event(5.0 + target_s + 1.0, 6.0 + target_s + 1.0, EventKind.RELEASE, "free", 0.9)
    recording_id = heard([cue, free])
    check_all(actor, recording_id, now)
    count_recording(actor, recording_id, {"stay": step.key}, now=now)
    (trial,) = Trial.objects.all()
    assert (trial.held_s, trial.target_s, trial.broke) == (pytest.approx(target_s + 1.0), target_s, False)
    assert (trial.outcome, trial.source) == ("met", "recorded")
    cue_id = UUID(first_cue(actor, recording_id).id)
    judge_events(actor, recording_id, [Judgement(cue_id, EventState.REJECTED)], now=now)
    count_recording(actor, recording_id, {"stay": step.key}, now=now)
    assert not Trial.objects.exists()


def tap_live(
    actor: Actor,
    programme: UUID,
    new_session: Callable[..., UUID],
    at_s: list[float],
    began_at: datetime,
    *,
    ahead_s: float = 7.0,
    started_s: float = 0.0,
) -> UUID:
    """Write a tapped session whose taps come 0.6 s after the markers, its clock ahead of the recording's.

    started_s: when it started, in seconds of the recording.
    """
    from uuid import uuid4

    from pupilage.core.training.record.events import Event as Entry
    from pupilage.core.training.record.events import EventKind as EntryKind
    from pupilage.services.record_events import record_events

    phone_at = began_at + timedelta(seconds=ahead_s)
    started_at = phone_at + timedelta(seconds=min(started_s, at_s[0] - 1.0))
    session_id = new_session(actor, programme, "sit", first_step("sit"), [], at=started_at, end=False)
    device = str(uuid4())
    events = [
        Entry(
            str(uuid4()), device, n, str(session_id), EntryKind.TRIAL,
            phone_at + timedelta(seconds=one + 2.1), 60, {"outcome": "met", "pieces": 1},
        )
        for n, one in enumerate(at_s, 1)
    ]  # fmt: skip
    ended = Entry(
        str(uuid4()),
        device,
        99,
        str(session_id),
        EntryKind.SESSION_ENDED,
        phone_at + timedelta(seconds=at_s[-1] + 20.0),
        60,
    )
    record_events(actor, [*events, ended], now=began_at)
    return session_id


def test_a_session_that_was_tapped_as_well_is_merged_not_doubled(
    actor: Actor, programme: UUID, heard: Callable[..., UUID], new_session: Callable[..., UUID], now: datetime
) -> None:
    events = tries("sit")
    cues_s = [event.start_s for event in events if event.kind is EventKind.CUE]
    live = tap_live(actor, programme, new_session, cues_s[:-2], now - timedelta(hours=1))
    recording_id = heard(events)
    check_all(actor, recording_id, now)
    counted = count_recording(actor, recording_id, steps(), now=now)
    (one,) = counted.behaviours
    assert (one.n_trials, one.n_both, one.n_written) == (7, 5, 2)
    rows = Trial.objects.filter(session_id=live)
    assert sorted(rows.values_list("source", flat=True)) == ["recorded"] * 2 + ["tapped"] * 5
    assert not TrainingSession.objects.filter(id=session_id_of(recording_id, "sit")).exists()
    (beside,) = read_recording(actor, recording_id).beside
    assert beside.merge.n_both == 5
    assert beside.merge.on_trials is not None
    assert count_recording(actor, recording_id, steps(), now=now).behaviours[0].n_written == 0
    assert rows.count() == 7


@pytest.mark.parametrize("ahead_s", [-63.0, -25.0, 0.0, 61.0, 118.0])
def test_a_phone_whose_clock_is_off_by_a_minute_is_merged_and_the_tries_stand_in_their_order(
    actor: Actor, programme: UUID, heard: Callable[..., UUID], new_session: Callable[..., UUID], now: datetime,
    ahead_s: float,
) -> None:  # fmt: skip
    events = tries("sit")
    cues_s = [event.start_s for event in events if event.kind is EventKind.CUE]
    tapped = [*cues_s[:2], *cues_s[3:]]
    live = tap_live(actor, programme, new_session, tapped, now - timedelta(hours=1), ahead_s=ahead_s)
    recording_id = heard(events)
    check_all(actor, recording_id, now)
    (one,) = count_recording(actor, recording_id, steps(), now=now).behaviours
    assert (one.n_trials, one.n_both, one.n_written) == (7, 6, 1)
    sources = list(Trial.objects.filter(session_id=live).order_by("at").values_list("source", flat=True))
    assert sources == ["tapped"] * 2 + ["recorded"] + ["tapped"] * 4, "on the phone's clock, between its neighbours"
    (beside,) = read_recording(actor, recording_id).beside
    assert beside.merge.on_trials is not None
    assert beside.merge.on_trials.share == 1.0
    assert beside.merge.offset_s == pytest.approx(-ahead_s + beside_start(live, now) - 0.6, abs=0.2)
    again = count_recording(actor, recording_id, steps(), now=now)
    assert [one.n_written for one in again.behaviours] == [0]


def beside_start(session_id: UUID, now: datetime) -> float:
    """Return when a session started, in seconds of a recording that began an hour ago."""
    return (TrainingSession.objects.get(id=session_id).started_at - (now - timedelta(hours=1))).total_seconds()


@pytest.mark.parametrize("half", ["first", "second"])
def test_a_session_of_which_only_half_was_filmed_is_compared_where_it_was(
    actor: Actor, programme: UUID, heard: Callable[..., UUID], new_session: Callable[..., UUID], now: datetime,
    half: str,
) -> None:  # fmt: skip
    events = tries("sit", 40.0)
    cues_s = [event.start_s for event in events if event.kind is EventKind.CUE]
    others = [150.0, 163.0, 171.5, 190.0] if half == "first" else [-90.0, -77.5, -60.0, -49.0]
    taps = sorted([*others, *cues_s[1:]])
    live = tap_live(actor, programme, new_session, taps, now - timedelta(hours=1), started_s=taps[0] - 5.0)
    recording_id = heard(events, duration_s=130.0)
    check_all(actor, recording_id, now)
    (beside,) = read_recording(actor, recording_id).beside
    merge = beside.merge
    assert (merge.n_both, merge.n_only_tapped, merge.n_only_heard, merge.n_not_filmed) == (6, 0, 1, 4)
    assert merge.on_counts is not None
    assert merge.on_counts.total > 0.8, "what was not filmed is no disagreement"
    assert "4 tapped tries were not filmed, and are not compared." in agreement_lines([beside])[0]["says"]
    (one,) = count_recording(actor, recording_id, steps(), now=now).behaviours
    assert (one.n_both, one.n_written) == (6, 1)
    assert Trial.objects.filter(session_id=live).count() == 11
    assert Trial.objects.count() == 11


def test_a_session_that_ended_just_before_the_filming_is_another_one(
    actor: Actor, programme: UUID, heard: Callable[..., UUID], new_session: Callable[..., UUID], now: datetime
) -> None:
    tap_live(actor, programme, new_session, [-190.0, -176.0, -150.0, -132.0, -120.0], now - timedelta(hours=1))
    recording_id = heard(tries("sit"))
    check_all(actor, recording_id, now)
    (one,) = count_recording(actor, recording_id, steps(), now=now).behaviours
    assert (one.n_both, one.n_written, one.sentences) == (0, 7, ())
    assert not read_recording(actor, recording_id).beside


def test_a_tapped_session_that_does_not_fit_keeps_the_heard_tries_out_and_says_so(
    actor: Actor, programme: UUID, heard: Callable[..., UUID], new_session: Callable[..., UUID], now: datetime
) -> None:
    tap_live(actor, programme, new_session, [12.0, 70.0], now - timedelta(hours=1))
    recording_id = heard(tries("sit"))
    check_all(actor, recording_id, now)
    (one,) = count_recording(actor, recording_id, steps(), now=now).behaviours
    assert one.n_written == 0
    assert any("nothing counts twice" in str(line) for line in one.sentences)


def test_a_reader_may_not_count(actor: Actor, reader: Actor, heard: Callable[..., UUID], now: datetime) -> None:
    recording_id = heard(tries("sit"))
    with pytest.raises(Forbidden):
        count_recording(reader, recording_id, steps(), now=now)
    assert read_recording(reader, recording_id).handling is None, "the trainer's words are the keeper's alone"
    assert read_recording(actor, recording_id).handling is not None


def test_a_webvtt_file_corrected_elsewhere_is_read_back(
    actor: Actor, heard: Callable[..., UUID], now: datetime
) -> None:
    recording_id = heard(tries("sit"))
    check_all(actor, recording_id, now)
    text = export_recording(actor, recording_id, FileFormat.VTT).content.decode()
    same = correct_recording(actor, recording_id, text.encode(), now=now)
    assert (same.n_judged, same.n_added) == (0, 0), "an unchanged file changes nothing"
    changed = text.replace("<c.outcome>met", "<c.outcome>missed", 1)
    changed += "\n00:03:20.000 --> 00:03:20.400\n<c.cue>down</c>\n"
    found = correct_recording(actor, recording_id, changed.encode(), now=now)
    assert (found.n_judged, found.n_added) == (1, 1)
    again = correct_recording(actor, recording_id, changed.encode(), now=now)
    assert (again.n_judged, again.n_added) == (0, 0)
    events = list_recording_events(recording_readable_by(actor, recording_id))
    assert [e.label for e in events if e.kind is EventKind.OUTCOME] == ["missed"] + ["met"] * 6
    assert replace(events[-1], id="").label == "down"


def test_csv_and_json_hold_every_event(actor: Actor, heard: Callable[..., UUID], now: datetime) -> None:
    import json

    recording_id = heard(tries("sit"))
    found = json.loads(export_recording(actor, recording_id, FileFormat.JSON).content)
    assert len(found["events"]) == 14
    assert {"start_s", "end_s", "kind", "label", "confidence", "state"} <= set(found["events"][0])
    assert len(found["trials"]) == 7
    assert found["rates"]["n_trials"]["value"] == 7
    assert export_recording(actor, recording_id, FileFormat.CSV).content.count(b"\r\n") == 15
