"""Voices: the people who give cues, their words, and what was learned to hear them by."""

from django.db import models

from pupilage.core.recordings.reading import LearningState, WordRole
from pupilage.storage.models.owned import Owned


class Voice(Owned):
    """A person who gives cues, or a set of words of theirs ("gloves on", "Italian").

    keep_sound: the sound of samples stays after it was learned from; otherwise only numbers do. model: what was
    learned, as the bytes of the arrays; made_by: the hash of the embedding's file that it goes with, since numbers of
    two embeddings must not be mixed. look_alikes, calibration: plain numbers. learning, progress, worker, alive_at,
    failure: as those of a recording's reading; asked_at: when it was last asked to learn.
    """

    name = models.CharField(max_length=80)
    keep_sound = models.BooleanField(default=False)
    model = models.BinaryField(null=True)
    made_by = models.CharField(max_length=64, blank=True)
    made_at = models.DateTimeField(null=True)
    look_alikes = models.JSONField(null=True)
    calibration = models.JSONField(null=True)
    learning = models.CharField(
        max_length=12, choices=[(s.value, s.value) for s in LearningState], default=LearningState.IDLE.value
    )
    asked_at = models.DateTimeField(null=True)
    progress = models.FloatField(default=0)
    worker = models.CharField(max_length=64, blank=True)
    alive_at = models.DateTimeField(null=True)
    failure = models.JSONField(null=True)
    retired_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["workspace", "name"], name="one_voice_a_name")]


class VoiceWord(Owned):
    """One word, sound or stretch of a voice. behaviour: which one a cue asks for, "" for none of the catalogue."""

    voice = models.ForeignKey(Voice, on_delete=models.CASCADE, related_name="words")
    text = models.CharField(max_length=80)
    role = models.CharField(max_length=12, choices=[(r.value, r.value) for r in WordRole])
    behaviour = models.CharField(max_length=60, blank=True)
    retired_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["voice", "text", "role"], name="one_word_a_voice")]


class VoiceSample(Owned):
    """One example of a word. Kept by its numbers; the sound until it was learned from, or as the trainer asked.

    numbers: what it teaches, as the bytes of the arrays, empty until it was learned from; sound: 16 kHz, 16 bit, mono.
    """

    word = models.ForeignKey(VoiceWord, on_delete=models.CASCADE, related_name="samples")
    numbers = models.BinaryField(default=b"")
    duration_s = models.FloatField()
    sound = models.BinaryField(null=True)
    recording = models.ForeignKey("storage.Recording", on_delete=models.SET_NULL, related_name="+", null=True)
    start_s = models.FloatField(null=True)
    heard_at = models.DateTimeField()
