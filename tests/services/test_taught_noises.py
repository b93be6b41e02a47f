"""A clicker and a whistle taught by three taps each are heard in a session between talk and bangs of a household."""

from uuid import UUID

import numpy as np
import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import EventKind
from pupilage.core.recordings.reading import LearningState, ReadingState, WordRole
from pupilage.core.simulation.sounds.scenes import (
    SPEECH_DBFS,
    Background,
    Scene,
    background,
    click_session,
    samples_of,
    whistle_session,
)
from pupilage.core.simulation.sounds.trainers import Clicker, Whistle
from pupilage.services.add_sample import remove_sample, tap_sample
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.keep_voice import VoiceEntry, choose_voices, keep_voice
from pupilage.services.keep_word import WordEntry, delete_word, keep_word
from pupilage.services.learn_voice import ask_to_learn, learn_waiting
from pupilage.services.listen_to_recording import listen
from pupilage.services.read_waiting import read_waiting
from pupilage.storage.models import Recording, Voice, VoiceSample
from pupilage.storage.queries.recordings import list_recording_events
from pupilage.storage.sound.cutting import as_wav

RATE_HZ = 32_000
NEAR_S = 0.1


@pytest.fixture(scope="module")
def scenes() -> tuple[Scene, Scene]:
    """The enrolment: three clicks, then three blasts. The session: clicks, then blasts, between talk and bangs."""
    rng = np.random.default_rng(11)
    box, pipe = Clicker.drawn(rng), Whistle(2900.0, 0.05, 0.4, 0.05, 0.0)
    cuts = [
        *samples_of(lambda rng: box.press(rng, rate_hz=RATE_HZ), 3, rng, rate_hz=RATE_HZ),
        *samples_of(lambda rng: pipe.blow(rng, rate_hz=RATE_HZ), 3, rng, rate_hz=RATE_HZ),
    ]
    enrolment = Scene(background(Background.PINK, 14.0, SPEECH_DBFS - 30.0, rng, rate_hz=RATE_HZ), RATE_HZ)
    for number, cut in enumerate(cuts):
        enrolment.lay(cut, 1.0 + 2.0 * number)
    behind = background(Background.PINK, 40.0, SPEECH_DBFS - 20.0, rng, rate_hz=RATE_HZ)
    halves = [click_session(box, behind, rng, rate_hz=RATE_HZ), whistle_session(pipe, behind, rng, rate_hz=RATE_HZ)]
    truths = [
        (kind, start_s + 40.0 * half, end_s) for half, one in enumerate(halves) for kind, start_s, end_s in one.truths
    ]
    return enrolment, Scene(np.concatenate([one.samples for one in halves]), RATE_HZ, truths)


def bring(actor, dog, programme, scene, now, **changes) -> UUID:
    content = as_wav(np.asarray(scene.samples, np.float32), rate_hz=RATE_HZ)
    new = NewRecording("garden.wav", len(content), programme_id=programme, **changes)
    recording_id = begin_recording(actor, dog, new, now=now)
    add_bytes(actor, recording_id, 0, [content], now=now)
    return recording_id


def teach(actor, voice, recording, now) -> tuple[UUID, UUID]:
    """Tap each click and each blast about a third of a second after it began."""
    box = keep_word(actor, voice, WordEntry("box", WordRole.CLICK), now=now)
    pipe = keep_word(actor, voice, WordEntry("pipe", WordRole.WHISTLE), now=now)
    for number in range(3):
        tap_sample(actor, box, recording, 1.2 + 2.0 * number + 0.3, now=now)
        tap_sample(actor, pipe, recording, 7.2 + 2.0 * number + 0.4, now=now)
    return box, pipe


def f1(found: list[float], true: list[float]) -> float:
    hit = sum(any(abs(one - at_s) <= NEAR_S for one in found) for at_s in true)
    return 2 * hit / (len(found) + len(true))


def test_clicks_and_whistles_taught_by_taps_are_heard(actor, dog, programme, scenes, now):
    voice = keep_voice(actor, VoiceEntry("Wren"), now=now)
    box, _ = teach(actor, voice, bring(actor, dog, programme, scenes[0], now), now)
    assert not VoiceSample.objects.exclude(sound=None).exists(), "numbers are all that is kept of a click"
    ask_to_learn(actor, voice, now=now)
    learn_waiting("learner", lambda: now)
    assert Voice.objects.get(id=voice).learning == LearningState.IDLE
    recording = bring(actor, dog, programme, scenes[1], now, voice_ids=(voice,))
    read_waiting("reader", listen, lambda: now, only=recording)
    read = Recording.objects.get(id=recording)
    assert read.state == ReadingState.READ, read.failure
    heard = [one for one in list_recording_events(read) if (one.confidence or 0) >= 0.5]
    assert {(one.kind, one.label, one.speaker) for one in heard} == {
        (EventKind.CLICK, "box", "Wren"), (EventKind.WHISTLE, "pipe", "Wren"),
    }  # fmt: skip
    for kind in (EventKind.CLICK, EventKind.WHISTLE):
        true = [start_s for name, start_s, _ in scenes[1].truths if name == kind]
        assert f1([one.start_s for one in heard if one.kind is kind], true) >= 0.9
    delete_word(actor, box, now=now)
    choose_voices(actor, recording, [voice], now=now)
    read_waiting("reader", listen, lambda: now, only=recording)
    kinds = {one.kind for one in list_recording_events(Recording.objects.get(id=recording))}
    assert kinds == {EventKind.WHISTLE}, "a deleted clicker is not listened for any more"


def test_two_clicks_are_too_few_to_listen_for(actor, dog, programme, scenes, now):
    voice = keep_voice(actor, VoiceEntry("Wren"), now=now)
    box, pipe = teach(actor, voice, bring(actor, dog, programme, scenes[0], now), now)
    delete_word(actor, pipe, now=now)
    remove_sample(actor, VoiceSample.objects.filter(word_id=box).first().id, now=now)
    recording = bring(actor, dog, programme, scenes[1], now, voice_ids=(voice,))
    read_waiting("reader", listen, lambda: now, only=recording)
    read = Recording.objects.get(id=recording)
    assert list_recording_events(read) == []
    assert any("Nothing of {voice} is learned yet" in template for template, _ in read.quality["remarks"])


def test_a_tap_where_no_click_is_says_so(actor, dog, programme, scenes, now):
    voice = keep_voice(actor, VoiceEntry("Wren"), now=now)
    recording = bring(actor, dog, programme, scenes[0], now)
    box = keep_word(actor, voice, WordEntry("box", WordRole.CLICK), now=now)
    pipe = keep_word(actor, voice, WordEntry("pipe", WordRole.WHISTLE), now=now)
    with pytest.raises(InvalidInput, match="No click is heard here"):
        tap_sample(actor, box, recording, 0.5, now=now)
    with pytest.raises(InvalidInput, match="No whistle is heard here"):
        tap_sample(actor, pipe, recording, 2.6, now=now)
    assert not VoiceSample.objects.exists()
