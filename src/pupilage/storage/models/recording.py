"""Recordings: what was brought in, what was heard in it, and what a person said of that."""

from django.db import models
from django.db.models import Q

from pupilage.core.recordings.events import EventKind, EventSource, EventState
from pupilage.core.recordings.reading import Purpose, ReadingState
from pupilage.core.training.record.evidence import Outcome
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import Owned
from pupilage.storage.models.programme import Programme
from pupilage.storage.models.voice import Voice


class Recording(Owned):
    """A sound, a video or a file of captions. Its bytes are a file of the data folder until they are deleted.

    began_at: the moment of the player's 0:00. n_bytes of size_bytes have arrived. has_file: the bytes are still kept.
    keep_sound: the trainer wants the sound kept after it was checked. worker, alive_at: who reads it, and when it last
    said so; a reader that fell silent is replaced. failure: a sentence as [template, figures]. quality, result: what
    the reading found besides events, as plain numbers. session_id: the session that its confirmed trials went into.
    """

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="recordings")
    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="recordings", null=True)
    voices = models.ManyToManyField(Voice, through="storage.RecordingVoice", related_name="recordings")
    purpose = models.CharField(max_length=12, choices=[(p.value, p.value) for p in Purpose])
    file_name = models.CharField(max_length=255)
    captions_name = models.CharField(max_length=255, blank=True)
    size_bytes = models.PositiveBigIntegerField()
    n_bytes = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)
    has_file = models.BooleanField(default=True)
    keep_sound = models.BooleanField(default=False)
    began_at = models.DateTimeField(null=True)
    duration_s = models.FloatField(null=True)
    state = models.CharField(max_length=12, choices=[(s.value, s.value) for s in ReadingState])
    progress = models.FloatField(default=0)
    worker = models.CharField(max_length=64, blank=True)
    alive_at = models.DateTimeField(null=True)
    failure = models.JSONField(null=True)
    quality = models.JSONField(null=True)
    result = models.JSONField(null=True)
    session_id = models.UUIDField(null=True)
    added_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(n_bytes__lte=models.F("size_bytes")), name="no_more_bytes_than_promised")
        ]
        indexes = [models.Index(fields=["dog", "added_at"]), models.Index(fields=["state", "added_at"])]


class RecordingVoice(Owned):
    """One of the people who give cues in a recording, or one of the sets of words used in it."""

    recording = models.ForeignKey(Recording, on_delete=models.CASCADE, related_name="+")
    voice = models.ForeignKey(Voice, on_delete=models.CASCADE, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["recording", "voice"], name="one_voice_once_a_recording")]


class RecordingEvent(Owned):
    """One thing that was heard, read or tapped, as it was suggested. What a person says of it is its judgements.

    confidence: as the model gave it; the voice's calibration makes a chance of it when it is shown. voice: whose words
    it was heard by. embedding: the numbers it was heard by (float16, n × 480), so that a checked one teaches it.
    """

    recording = models.ForeignKey(Recording, on_delete=models.CASCADE, related_name="events")
    start_s = models.FloatField()
    end_s = models.FloatField()
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in EventKind])
    label = models.CharField(max_length=80, blank=True)
    confidence = models.FloatField(null=True)
    source = models.CharField(max_length=12, choices=[(s.value, s.value) for s in EventSource])
    in_talk = models.BooleanField(default=False)
    exact = models.BooleanField(default=True)
    behaviour = models.CharField(max_length=60, blank=True)
    speaker = models.CharField(max_length=80, blank=True)
    embedding = models.BinaryField(null=True)
    voice = models.ForeignKey(Voice, on_delete=models.SET_NULL, related_name="+", null=True)

    class Meta:
        indexes = [models.Index(fields=["recording", "start_s"])]


class RecordingJudgement(Owned):
    """What a person said of one event: right, wrong, another word, another time; of a cue, what the dog did.

    Only ever added: the newest of an event that is not taken back counts. It goes only with its whole recording.
    """

    recording = models.ForeignKey(Recording, on_delete=models.CASCADE, related_name="judgements")
    event = models.ForeignKey(RecordingEvent, on_delete=models.CASCADE, related_name="judgements")
    state = models.CharField(max_length=12, choices=[(s.value, s.value) for s in EventState])
    kind = models.CharField(max_length=12, blank=True, choices=[(k.value, k.value) for k in EventKind])
    label = models.CharField(max_length=80, blank=True)
    behaviour = models.CharField(max_length=60, blank=True)
    start_s = models.FloatField(null=True)
    outcome = models.CharField(max_length=8, blank=True, choices=[(o.value, o.value) for o in Outcome])
    at = models.DateTimeField()
    seq = models.PositiveIntegerField()
    by = models.UUIDField(null=True)
    taken_back_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["recording", "seq"], name="one_judgement_a_place")]
