"""One session tapped on a phone and filmed: its words are heard in its sound, and each try stands once."""

from datetime import datetime, timedelta
from uuid import UUID, uuid4

import numpy as np
import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.core.recordings.reading import WordRole
from pupilage.core.training.record.events import Event as Entry
from pupilage.core.training.record.events import EventKind as EntryKind
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.add_sample import tap_sample
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.count_recording import count_recording
from pupilage.services.judge_recording import Judgement, judge_events
from pupilage.services.keep_voice import VoiceEntry, keep_voice
from pupilage.services.keep_word import WordEntry, keep_word
from pupilage.services.learn_voice import ask_to_learn, learn_waiting
from pupilage.services.listen_to_recording import listen
from pupilage.services.read_recording import read_recording
from pupilage.services.read_waiting import read_waiting
from pupilage.services.record_events import record_events
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Recording, Trial
from pupilage.storage.queries.recordings import list_recording_events
from pupilage.storage.sound.cutting import as_wav
from pupilage.storage.sound.embedding import find_model
from spoken import Spoken, spoken

RATE = 16_000
PAUSES_S = (3.0, 6.5, 1.5, 9.0, 4.2, 7.7, 2.4, 5.6)
"""After each try, uneven, so that the two clocks fit in one way only."""
LESSON = ("sit", "yes") * 3


@pytest.fixture(scope="module")
def said() -> Spoken:
    """A lesson of three of each word, then eight tries of a cue and its marker with uneven pauses between them."""
    try:
        find_model()
    except InvalidInput as error:
        pytest.skip(str(error))
    plain = spoken([*LESSON, *("sit", "yes") * len(PAUSES_S)], seed=12)
    quiet = np.random.default_rng(5)
    pieces, times, at_s, done_s = [], [], 0.0, 0.0
    for n, (start_s, end_s, word) in enumerate(plain.said):
        times.append((start_s + at_s, end_s + at_s, word))
        if n >= len(LESSON) and word == "yes":
            cut_s = end_s + 0.8
            pause_s = PAUSES_S[(n - len(LESSON)) // 2]
            pieces += [
                plain.sound[round(done_s * RATE) : round(cut_s * RATE)],
                (quiet.standard_normal(round(pause_s * RATE)) * 1e-3).astype(np.float32),
            ]
            done_s, at_s = cut_s, at_s + pause_s
    return Spoken(np.concatenate([*pieces, plain.sound[round(done_s * RATE) :]]), tuple(times))


def bring(actor: Actor, dog: UUID, sound: np.ndarray, now: datetime, **named: object) -> UUID:
    wav = as_wav(sound)
    recording_id = begin_recording(actor, dog, NewRecording("garden.wav", len(wav), **named), now=now)
    add_bytes(actor, recording_id, 0, [wav], now=now)
    return recording_id


def tap(actor: Actor, programme: UUID, new_session, markers_s: list[float], zero_at: datetime) -> UUID:
    """Write the session as the phone did: a tap some time after each marker, by the phone's own clock."""
    started_at = zero_at + timedelta(seconds=markers_s[0] - 6.0)
    step = load_catalogue().behaviours["sit"].steps[0].key
    session_id = new_session(actor, programme, "sit", step, [], at=started_at, end=False)
    device = str(uuid4())
    late = np.random.default_rng(2).uniform(0.4, 1.0, len(markers_s))
    entries = [
        Entry(
            str(uuid4()), device, n, str(session_id), EntryKind.TRIAL,
            zero_at + timedelta(seconds=one + float(after_s)), 60, {"outcome": "met", "pieces": 1},
        )
        for n, (one, after_s) in enumerate(zip(markers_s, late, strict=True), 1)
    ]  # fmt: skip
    ended_at = zero_at + timedelta(seconds=markers_s[-1] + 5.0)
    entries.append(Entry(str(uuid4()), device, 99, str(session_id), EntryKind.SESSION_ENDED, ended_at, 60))
    record_events(actor, entries, now=zero_at + timedelta(hours=1))
    return session_id


def judged(event: Event, *, is_right: bool) -> Judgement:
    met = Outcome.MET if is_right and event.kind is EventKind.CUE else None
    return Judgement(UUID(event.id), EventState.CONFIRMED if is_right else EventState.REJECTED, outcome=met)


@pytest.mark.parametrize(
    ("ahead_s", "is_half"), [(0.0, False), (60.0, False), (-60.0, True)], ids=["as is", "a minute off", "half filmed"]
)
def test_what_was_tapped_and_heard_is_merged_not_doubled(
    actor, dog, programme, said, now, new_session, ahead_s, is_half
) -> None:
    voice = keep_voice(actor, VoiceEntry("Wren"), now=now)
    lesson_s = said.said[len(LESSON)][0] - 0.5
    lesson = bring(actor, dog, said.sound[: round(lesson_s * RATE)], now)
    for word, role, behaviour in (("sit", WordRole.CUE, "sit"), ("yes", WordRole.MARKER, "")):
        word_id = keep_word(actor, voice, WordEntry(word, role, behaviour), now=now)
        for start_s in said.times(word)[:3]:
            tap_sample(actor, word_id, lesson, start_s + 0.3, now=now)
    ask_to_learn(actor, voice, now=now)
    assert learn_waiting("learner", lambda: now) == voice
    Recording.objects.filter(id=lesson).delete()

    markers_s = [start_s - lesson_s for start_s in said.times("yes")[3:]]
    filmed = said.sound[round(lesson_s * RATE) :]
    n_filmed = len(markers_s)
    if is_half:
        n_filmed = len(markers_s) // 2 + 1
        filmed = filmed[: round((markers_s[n_filmed - 1] + 1.0) * RATE)]
    began_at = now - timedelta(hours=1)
    recording = bring(actor, dog, filmed, now, began_at=began_at, programme_id=programme, voice_ids=(voice,))
    assert read_waiting("reader", listen, lambda: now) == recording
    tapped = markers_s[:2] + markers_s[3:]
    live = tap(actor, programme, new_session, tapped, began_at + timedelta(seconds=ahead_s))

    heard = list_recording_events(Recording.objects.get(id=recording))
    sure = [event for event in heard if (event.confidence or 0.0) >= 0.5]
    assert [event.label for event in sure] == ["sit", "yes"] * n_filmed
    judge_events(actor, recording, [judged(event, is_right=event in sure) for event in heard], now=now)

    (beside,) = read_recording(actor, recording).beside
    merge = beside.merge
    assert (merge.n_both, merge.n_only_tapped, merge.n_only_heard) == (n_filmed - 1, 0, 1)
    assert merge.n_not_filmed == len(markers_s) - n_filmed
    assert merge.on_trials is not None
    assert merge.on_trials.share == 1.0
    step = load_catalogue().behaviours["sit"].steps[0].key
    (one,) = count_recording(actor, recording, {"sit": step}, now=now).behaviours
    assert (one.n_both, one.n_written) == (n_filmed - 1, 1)
    sources = list(Trial.objects.order_by("at").values_list("session_id", "source"))
    assert sources == [(live, "tapped")] * 2 + [(live, "recorded")] + [(live, "tapped")] * (len(markers_s) - 3)
    assert count_recording(actor, recording, {"sit": step}, now=now).behaviours[0].n_written == 0
