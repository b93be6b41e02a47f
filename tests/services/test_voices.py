"""A voice is taught by taps on a recording, learned beside the pages, heard in the next one, and deleted for good."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from uuid import UUID

import numpy as np
import pytest

from pupilage.core.access import Actor
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.recordings.events import EventKind, EventState
from pupilage.core.recordings.reading import LearningState, ReadingState, WordRole
from pupilage.core.recordings.words.model import Corrections, WordModel, learn
from pupilage.services.add_sample import add_sound, add_stretch, remove_sample, tap_sample
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.delete_recording import delete_recording
from pupilage.services.judge_recording import Judgement, judge_events
from pupilage.services.keep_voice import VoiceEntry, choose_voices, delete_voice, keep_voice
from pupilage.services.keep_word import WordEntry, delete_word, keep_word
from pupilage.services.learn_voice import ask_to_learn, learn_from_checked, learn_waiting
from pupilage.services.listen_to_recording import listen
from pupilage.services.read_waiting import read_waiting
from pupilage.storage.models import Recording, RecordingEvent, Voice, VoiceSample, VoiceWord
from pupilage.storage.queries.recordings import list_recording_events
from pupilage.storage.sound.embedding import MODEL_SHA256, find_model
from spoken import Spoken, spoken

WORDS = ("sit", "come", "yes")


@pytest.fixture(scope="module")
def said() -> Spoken:
    """Three of each word, then a session of them."""
    try:
        find_model()
    except InvalidInput as error:
        pytest.skip(str(error))
    return spoken([*(word for _ in range(3) for word in WORDS), "sit", "yes", "come", "yes", "sit", "sit", "yes"])


@pytest.fixture
def bring(actor: Actor, dog: UUID, programme: UUID, now: datetime) -> Callable[..., UUID]:
    def make(content: bytes, name: str = "garden.wav", **changes: object) -> UUID:
        new = NewRecording(name, len(content), programme_id=programme, **changes)
        recording_id = begin_recording(actor, dog, new, now=now)
        add_bytes(actor, recording_id, 0, [content], now=now)
        return recording_id

    return make


@pytest.fixture
def voice(actor: Actor, now: datetime) -> UUID:
    return keep_voice(actor, VoiceEntry("Wren"), now=now)


def teach(actor: Actor, voice: UUID, recording: UUID, said: Spoken, now: datetime) -> dict[str, UUID]:
    """Tap three examples of each word, each a third of a second late."""
    ids = {}
    for word in WORDS:
        role = WordRole.MARKER if word == "yes" else WordRole.CUE
        behaviour = "sit" if word == "sit" else ""
        ids[word] = keep_word(actor, voice, WordEntry(word, role, behaviour), now=now)
        for start_s in said.times(word)[:3]:
            found = tap_sample(actor, ids[word], recording, start_s + 0.35, now=now)
            assert found.start_s == pytest.approx(start_s, abs=0.12)
    return ids


def learned(actor: Actor, voice: UUID, now: datetime) -> Voice:
    ask_to_learn(actor, voice, now=now)
    assert learn_waiting("learner", lambda: now) == voice
    return Voice.objects.get(id=voice)


def test_words_tapped_in_a_recording_are_heard_in_it(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav, voice_ids=(voice,))
    teach(actor, voice, recording, said, now)
    row = learned(actor, voice, now)
    assert row.learning == LearningState.IDLE, row.failure
    assert row.look_alikes["words"]
    assert not VoiceSample.objects.exclude(sound=None).exists(), "without a wish to keep it, no sound is left"
    assert read_waiting("reader", listen, lambda: now) == recording
    read = Recording.objects.get(id=recording)
    assert read.state == ReadingState.READ, read.failure
    heard = [one for one in list_recording_events(read) if (one.confidence or 0) >= 0.5]
    assert [one.label for one in heard] == [word for _, _, word in said.said]
    assert {one.speaker for one in heard} == {"Wren"}
    assert {one.behaviour for one in heard if one.label == "sit"} == {"sit"}
    starts = [start_s for start_s, _, _ in said.said]
    assert np.abs(np.array([one.start_s for one in heard]) - starts).max() < 0.15
    assert RecordingEvent.objects.exclude(embedding=None).count() >= len(heard)


def test_a_word_called_otherwise_is_so_heard_without_learning_anew(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav, voice_ids=(voice,))
    ids = teach(actor, voice, recording, said, now)
    learned(actor, voice, now)
    keep_word(actor, voice, WordEntry("seduta", WordRole.CUE, "sit"), now=now, word_id=ids["sit"])
    read_waiting("reader", listen, lambda: now)
    labels = {one.label for one in list_recording_events(Recording.objects.get(id=recording))}
    assert "seduta" in labels
    assert "sit" not in labels


def test_what_was_checked_is_learned_from(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav, voice_ids=(voice,))
    teach(actor, voice, recording, said, now)
    before = bytes(learned(actor, voice, now).model)
    read_waiting("reader", listen, lambda: now)
    rows = RecordingEvent.objects.filter(recording=recording, label="sit").exclude(embedding=None)
    later = now + timedelta(minutes=5)
    judge_events(actor, recording, [Judgement(row.id, EventState.REJECTED) for row in rows], now=later)
    assert learn_from_checked(actor, recording, now=later) == 1
    assert learn_waiting("learner", lambda: later) == voice
    row = Voice.objects.get(id=voice)
    assert bytes(row.model) != before
    assert row.calibration == {"n_right": 0, "n": rows.count()}
    assert learn_from_checked(actor, recording, now=later) == 0, "nothing new was said since"


def test_up_to_three_stacks_of_each_event_reach_the_next_model(actor, voice, said, bring, now, monkeypatch) -> None:
    """Confirming, naming another word and rejecting teach alike; the next model gives each what a person said."""
    given = []
    real = Corrections.of.__func__

    def watched(cls, words, judged):
        given.append(real(cls, words, list(judged)))
        return given[-1]

    monkeypatch.setattr(Corrections, "of", classmethod(watched))
    recording = bring(said.wav, voice_ids=(voice,))
    ids = teach(actor, voice, recording, said, now)
    learned(actor, voice, now)
    assert given.pop().stacks.shape == (0, 480)
    read_waiting("reader", listen, lambda: now)
    rows = list(RecordingEvent.objects.filter(recording=recording).exclude(embedding=None).order_by("start_s"))
    stacks = [np.frombuffer(row.embedding, np.float16).reshape(-1, 480).astype(np.float32) for row in rows]
    assert {len(one) for one in stacks} <= {1, 2, 3}
    assert max(len(one) for one in stacks) == 3
    sure = [i for i, row in enumerate(rows) if row.label == "sit" and (row.confidence or 0) >= 0.5]
    right, renamed, wrong = sure[:3]
    judge_events(
        actor, recording,
        [
            Judgement(rows[right].id, EventState.CONFIRMED),
            Judgement(rows[renamed].id, EventState.CONFIRMED, EventKind.CUE, "come"),
            Judgement(rows[wrong].id, EventState.REJECTED),
        ],
        now=now + timedelta(minutes=5),
    )  # fmt: skip
    learn_from_checked(actor, recording, now=now + timedelta(minutes=5))
    before = WordModel.from_bytes(bytes(Voice.objects.get(id=voice).model), MODEL_SHA256)
    assert learn_waiting("learner", lambda: now + timedelta(minutes=6)) == voice
    after = WordModel.from_bytes(bytes(Voice.objects.get(id=voice).model), MODEL_SHA256)
    places = {word.label: 1 + place for place, word in enumerate(after.words)}
    meant = {right: places[str(ids["sit"])], renamed: places[str(ids["come"])], wrong: 0}
    assert given[0].teaches.tolist() == [meant[i] for i in (right, renamed, wrong) for _ in stacks[i]]
    assert np.array_equal(given[0].stacks, np.concatenate([stacks[i] for i in (right, renamed, wrong)]))
    for i in (renamed, wrong):
        was, now_is = (np.exp(one.softmax.log_p(stacks[i]))[:, meant[i]].mean() for one in (before, after))
        assert now_is > was + 0.2


def test_a_learner_that_died_is_replaced_and_keeps_what_each_example_taught(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav)
    teach(actor, voice, recording, said, now)
    ask_to_learn(actor, voice, now=now)

    class Died(BaseException):
        pass

    def die(share: float) -> None:
        if share > 0.3:
            raise Died

    with pytest.raises(Died):
        learn_waiting("first", lambda: now, told=die)
    kept = VoiceSample.objects.exclude(numbers=b"").count()
    assert 0 < kept < 9
    assert learn_waiting("second", lambda: now) is None, "the first one may still live"
    assert learn_waiting("second", lambda: now + timedelta(minutes=2)) == voice
    assert Voice.objects.get(id=voice).model
    assert VoiceSample.objects.exclude(numbers=b"").count() == 9


def test_a_voice_is_learned_anew_without_an_example_that_was_removed(actor, voice, said, bring, now, monkeypatch):
    lessons = []

    def watched(lesson, *others, **named):
        lessons.append(lesson)
        return learn(lesson, *others, **named)

    recording = bring(said.wav)
    ids = teach(actor, voice, recording, said, now)
    before = bytes(learned(actor, voice, now).model)
    first = VoiceSample.objects.filter(word=ids["sit"]).order_by("start_s").first()
    remove_sample(actor, first.id, now=now)
    stale = Voice.objects.get(id=voice)
    assert (stale.learning, bytes(stale.model)) == (LearningState.WAITING, before), (
        "heard by it until the next is there"
    )
    monkeypatch.setattr("pupilage.services.learn_voice.learn", watched)
    assert learn_waiting("learner", lambda: now) == voice
    row = Voice.objects.get(id=voice)
    assert (row.learning, row.failure) == (LearningState.IDLE, None)
    assert bytes(row.model) != before
    (lesson,) = lessons
    assert len(np.unique(lesson.sample[lesson.sample >= 0])) == 8

    tap_sample(actor, ids["sit"], recording, first.start_s + 0.35, now=now)
    new = VoiceSample.objects.get(numbers=b"")
    remove_sample(actor, new.id, now=now)
    assert Voice.objects.get(id=voice).learning == LearningState.IDLE, "nothing was learned from it yet"


@pytest.mark.parametrize("goes", ["example", "word", "every word", "voice"])
def test_what_is_removed_while_it_is_learned_from_is_in_no_model(actor, voice, said, bring, now, goes):
    ids = teach(actor, voice, bring(said.wav), said, now)
    ask_to_learn(actor, voice, now=now)
    done, at = [], [now]

    def clock() -> datetime:
        at[0] += timedelta(seconds=1)
        return at[0]

    def remove(share: float) -> None:
        if share > 0.65 and not done:  # the examples have taught; the words are being told apart
            done.append(share)
            match goes:
                case "example":
                    remove_sample(actor, VoiceSample.objects.filter(word=ids["sit"])[0].id, now=now)
                case "word":
                    delete_word(actor, ids["sit"], now=now)
                case "every word":
                    for word in ids.values():
                        delete_word(actor, word, now=now)
                case "voice":
                    delete_voice(actor, voice, now=now)

    assert learn_waiting("first", clock, told=remove) == voice
    assert done
    row = Voice.objects.filter(id=voice).first()
    if goes == "voice":
        assert row is None
        return
    assert row.model is None, "who was learning it lost it"
    assert row.learning == (LearningState.IDLE if goes == "every word" else LearningState.WAITING)
    if goes != "every word":
        assert learn_waiting("second", clock) == voice
        model = WordModel.from_bytes(bytes(Voice.objects.get(id=voice).model), MODEL_SHA256)
        assert len(model.words) == (3 if goes == "example" else 2)


def test_two_people_are_heard_each_by_their_name(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav)
    other = keep_voice(actor, VoiceEntry("Pia"), now=now)
    for one, words in ((voice, ("sit",)), (other, ("come", "yes"))):
        for word in words:
            word_id = keep_word(actor, one, WordEntry(word, WordRole.CUE), now=now)
            for start_s in said.times(word)[:3]:
                tap_sample(actor, word_id, recording, start_s + 0.3, now=now)
        learned(actor, one, now)
    choose_voices(actor, recording, [voice, other], now=now)
    read_waiting("reader", listen, lambda: now)
    heard = list_recording_events(Recording.objects.get(id=recording))
    told = {(one.label, one.speaker) for one in heard if (one.confidence or 0) >= 0.7}
    assert ("sit", "Wren") in told
    assert ("come", "Pia") in told
    assert ("sit", "Pia") not in told


def test_a_tap_where_nothing_is_said_says_so_and_keeps_nothing(actor, voice, said, bring, now) -> None:
    word = keep_word(actor, voice, WordEntry("sit", WordRole.CUE), now=now)
    recording = bring(said.wav)
    with pytest.raises(InvalidInput, match=r"No word stands out .* near 0\.3 s"):
        tap_sample(actor, word, recording, 0.3, now=now)
    first = said.times("sit")[0]
    tap_sample(actor, word, recording, first + 0.3, now=now)
    with pytest.raises(InvalidInput, match="there already"):
        tap_sample(actor, word, recording, first + 0.4, now=now)
    assert VoiceSample.objects.count() == 1


def test_a_sound_of_its_own_gives_its_word(actor, voice, now) -> None:
    one = spoken(["sit"], seed=9)
    word = keep_word(actor, voice, WordEntry("sit", WordRole.CUE), now=now)
    found = add_sound(actor, word, one.wav, "blob.wav", now=now)
    assert found.start_s == pytest.approx(one.times("sit")[0], abs=0.12)
    assert found.n_samples == 1
    with pytest.raises(InvalidInput, match=r"“blob\.webm” is no recording that can be read"):
        add_sound(actor, word, b"only text", "blob.webm", now=now)
    with pytest.raises(InvalidInput, match="Nothing is heard"):
        add_sound(actor, word, replace(one, sound=np.zeros(16_000, np.float32)).wav, "blob.wav", now=now)
    remove_sample(actor, found.id, now=now)
    assert not VoiceSample.objects.exists()


def test_talk_and_background_are_stretches_with_two_times(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav)
    found = add_stretch(actor, voice, recording, WordRole.TALK, (2.0, 8.0), now=now)
    assert found.end_s - found.start_s == pytest.approx(6.0, abs=0.01)
    with pytest.raises(InvalidInput, match="no stretch of 3 to 60 s"):
        add_stretch(actor, voice, recording, WordRole.BACKGROUND, (5.0, 6.0), now=now)
    with pytest.raises(InvalidInput, match="needs its start and its end"):
        tap_sample(actor, found.word_id, recording, 3.0, now=now)


def test_deleting_a_voice_leaves_nothing_of_it(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav, voice_ids=(voice,))
    ids = teach(actor, voice, recording, said, now)
    delete_word(actor, ids["yes"], now=now)
    assert VoiceSample.objects.count() == 6
    delete_voice(actor, voice, now=now)
    assert not Voice.objects.exists()
    assert not VoiceWord.objects.exists()
    assert not VoiceSample.objects.exists()
    assert Recording.objects.filter(id=recording).exists()


def test_deleting_a_recording_takes_examples_that_are_only_sound_yet(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav)
    teach(actor, voice, recording, said, now)
    delete_recording(actor, recording, now=now)
    assert not VoiceSample.objects.exists()


def test_names_words_and_roles_are_checked(actor, reader, voice, now) -> None:
    with pytest.raises(InvalidInput, match="called “wren” already"):
        keep_voice(actor, VoiceEntry("wren"), now=now)
    with pytest.raises(InvalidInput, match="Say who it is"):
        keep_voice(actor, VoiceEntry("  "), now=now)
    with pytest.raises(InvalidInput, match="Write the word"):
        keep_word(actor, voice, WordEntry(" ", WordRole.CUE), now=now)
    with pytest.raises(InvalidInput, match="no behaviour of the catalogue"):
        keep_word(actor, voice, WordEntry("hopp", WordRole.CUE, "no-such"), now=now)
    with pytest.raises(InvalidInput, match="no example to learn from"):
        ask_to_learn(actor, voice, now=now)
    with pytest.raises(Forbidden):
        keep_voice(reader, VoiceEntry("Pia"), now=now)
    with pytest.raises(NotFound):
        choose_voices(actor, UUID(int=1), [voice], now=now)
    assert keep_word(actor, voice, WordEntry("hopp", WordRole.CUE), now=now) == keep_word(
        actor, voice, WordEntry("Hopp", WordRole.CUE), now=now
    )


def test_events_are_shown_with_chances_once_fifty_of_each_were_looked_at(actor, voice, said, bring, now) -> None:
    recording = bring(said.wav, voice_ids=(voice,))
    teach(actor, voice, recording, said, now)
    learned(actor, voice, now)
    read_waiting("reader", listen, lambda: now)
    Voice.objects.filter(id=voice).update(calibration={"confidences": [0.0, 1.0], "chances": [0.2, 0.6], "n": 100})
    shown = [one.confidence for one in list_recording_events(Recording.objects.get(id=recording))]
    assert max(shown) <= 0.6
    assert any(one.kind is EventKind.CUE for one in list_recording_events(Recording.objects.get(id=recording)))
