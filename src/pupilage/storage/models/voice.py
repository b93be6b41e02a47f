"""Voices: the people who give cues, their words, and what was learned to hear them by."""

from django.db import models

from pupilage.core.recordings.reading import WordRole
from pupilage.storage.models.owned import Owned


class Voice(Owned):
    """A person who gives cues, or a set of words of theirs ("gloves on", "Italian").

    model: what was learned, as the bytes of the arrays; made_by: the hash of the embedding's file that it goes with,
    since numbers of two embeddings must not be mixed. look_alikes, calibration: plain numbers.
    """

    name = models.CharField(max_length=80)
    model = models.BinaryField(null=True)
    made_by = models.CharField(max_length=64, blank=True)
    made_at = models.DateTimeField(null=True)
    look_alikes = models.JSONField(default=list)
    calibration = models.JSONField(null=True)
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
    """One example of a word. Kept by its numbers; the sound only where the trainer asked for it.

    numbers: float16, for a word frames × 96 of the embedding in four phases, for a click or a whistle its spectrum;
    sound: 16 kHz, 16 bit, mono.
    """

    word = models.ForeignKey(VoiceWord, on_delete=models.CASCADE, related_name="samples")
    numbers = models.BinaryField()
    shape = models.JSONField()
    duration_s = models.FloatField()
    sound = models.BinaryField(null=True)
    recording = models.ForeignKey("storage.Recording", on_delete=models.SET_NULL, related_name="+", null=True)
    start_s = models.FloatField(null=True)
    heard_at = models.DateTimeField()
