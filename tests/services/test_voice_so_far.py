"""What a voice heard rightly so far, word by word, from what was confirmed, rejected, named anew and added by hand."""

import pytest

from pupilage.core.recordings.events import Event, EventKind, EventSource, EventState
from pupilage.core.recordings.reading import WordRole
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.judge_recording import AddedEvent, Judgement, add_event, judge_events, take_judgement_back
from pupilage.services.keep_voice import VoiceEntry, choose_voices, delete_voice, keep_voice
from pupilage.services.keep_word import WordEntry, keep_word
from pupilage.services.read_voices import read_voice
from pupilage.services.read_waiting import Heard, read_waiting
from pupilage.storage.models import Recording, RecordingEvent, Voice
from pupilage.storage.queries.judged import heard_and_said

NUMBERS = bytes(2 * 480)


@pytest.fixture
def voice(actor, now):
    voice_id = keep_voice(actor, VoiceEntry("Wren"), now=now)
    for text, role in (("Sit", WordRole.CUE), ("yes", WordRole.MARKER), ("box", WordRole.CLICK)):
        keep_word(actor, voice_id, WordEntry(text, role), now=now)
    return voice_id


@pytest.fixture
def heard(actor, dog, programme, voice, now):
    """A recording in which sit was heard twelve times, yes and a click three times each."""
    new = NewRecording("garden.wav", 4, programme_id=programme, voice_ids=(voice,))
    recording = begin_recording(actor, dog, new, now=now)
    add_bytes(actor, recording, 0, [b"RIFF"], now=now)
    said = [("cue", "sit")] * 12 + [("marker", "yes")] * 3 + [("click", "box")] * 3
    events = [
        (Event(2.0 * i, 2.0 * i + 0.4, EventKind(kind), label, 0.8, speaker="Wren", source=EventSource.SOUND),
         None if kind == "click" else NUMBERS)
        for i, (kind, label) in enumerate(said)
    ]  # fmt: skip
    read_waiting("reader", lambda _recording, _told: Heard(events, 60.0), lambda: now, only=recording)
    return recording


def judge(actor, recording, now, **states):
    rows = RecordingEvent.objects.filter(recording=recording).order_by("start_s")
    for label, judgements in states.items():
        for row, given in zip(rows.filter(label=label), judgements, strict=False):
            judge_events(actor, recording, [Judgement(row.id, *given)], now=now)


RIGHT, WRONG = (EventState.CONFIRMED,), (EventState.REJECTED,)


def told(actor, voice):
    return {
        one.text: [str(says).replace("\N{NO-BREAK SPACE}", " ") for says in one.says]
        for one in read_voice(actor, voice).so_far
    }


def test_each_word_tells_its_shares_or_that_they_are_not_enough(actor, voice, heard, now):
    assert told(actor, voice) == {}
    renamed = (EventState.CONFIRMED, EventKind.MARKER, "yes")
    judge(actor, heard, now, sit=[*[RIGHT] * 10, WRONG, renamed], yes=[RIGHT, RIGHT], box=[RIGHT, WRONG])
    for at_s in (50.0, 52.0):
        add_event(actor, heard, AddedEvent(at_s, EventKind.CUE, "sit"), now=now)
    assert told(actor, voice) == {
        "Sit": [
            "Right: 10 of the 12 suggestions that you looked at (83 %; 95 % limits 55 % to 95 %).",
            "Heard: 10 of the 12 times that it was said, as far as you checked (83 %; 95 % limits 55 % to 95 %).",
        ],
        "yes": [
            "Right: 2 of the 2 suggestions that you looked at; not enough yet for a share.",
            "Heard: 2 of the 3 times that it was said, as far as you checked; not enough yet for a share.",
        ],
        "box": [
            "Right: 1 of the 2 suggestions that you looked at; not enough yet for a share.",
            "Heard: 1 of the 1 times that it was said, as far as you checked; not enough yet for a share.",
        ],
    }


def test_what_is_taken_back_does_not_count(actor, voice, heard, now):
    judge(actor, heard, now, sit=[WRONG])
    few = "Right: 0 of the 1 suggestions that you looked at; not enough yet for a share."
    assert told(actor, voice) == {"Sit": [few]}, "nobody said yet that it was said"
    take_judgement_back(actor, heard, now=now)
    assert told(actor, voice) == {}


def test_a_new_name_goes_with_what_was_heard_and_no_name_is_left_of_a_deleted_voice(actor, voice, heard, now):
    judge(actor, heard, now, box=[RIGHT])
    keep_voice(actor, VoiceEntry("Wren, gloves on"), now=now, voice_id=voice)
    assert list(told(actor, voice)) == ["box"], "clicks are the voice's by its name"
    choose_voices(actor, heard, [], now=now)
    delete_voice(actor, voice, now=now)
    assert set(RecordingEvent.objects.values_list("speaker", flat=True)) == {""}


def test_a_word_that_two_people_have_is_nobodys_miss(actor, voice, heard, now):
    other = keep_voice(actor, VoiceEntry("Pia"), now=now)
    keep_word(actor, other, WordEntry("sit", WordRole.CUE), now=now)
    add_event(actor, heard, AddedEvent(50.0, EventKind.CUE, "sit"), now=now)
    assert heard_and_said(Voice.objects.get(id=voice)) == [(None, ("cue", "sit"))]
    choose_voices(actor, heard, [voice, other], now=now)
    assert Recording.objects.get(id=heard).voices.count() == 2
    assert heard_and_said(Voice.objects.get(id=voice)) == []


def test_a_recording_in_which_nothing_of_the_voice_was_heard_misses_nothing(actor, dog, programme, voice, now):
    recording = begin_recording(actor, dog, NewRecording("x.wav", 4, programme_id=programme), now=now)
    add_bytes(actor, recording, 0, [b"RIFF"], now=now)
    add_event(actor, recording, AddedEvent(1.0, EventKind.CUE, "sit"), now=now)
    assert told(actor, voice) == {}
