"""Training sessions: the append-only log of events, and the trials folded from it."""

from django.db import models
from django.db.models import Q

from pupilage.core.training.record.events import EventKind
from pupilage.core.training.record.evidence import Outcome, SessionKind, TrialSource
from pupilage.storage.models.owned import AppendOnly, Owned
from pupilage.storage.models.programme import Programme


class TrainingSession(Owned):
    """One session. Made by its first event; everything but the keys is folded from the log.

    `criterion` keeps the step's criterion as it was, should the catalogue change. `pieces_by`: how many pieces of each
    reinforcer, by name; null in sessions that were folded before it was kept.
    `beside`: the session of the dog that is worked while this one's lies on its mat; a plain key, for either may arrive
    first.
    `handler`: who worked with the dog, empty for the trainer; `place`: where, by a name of the trainer's own.
    """

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="sessions")
    behaviour = models.CharField(max_length=60)
    step = models.CharField(max_length=60)
    criterion = models.JSONField(default=dict)
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in SessionKind])
    source = models.CharField(max_length=12, choices=[(s.value, s.value) for s in TrialSource])
    reinforcer = models.CharField(max_length=80, blank=True)
    pieces_given = models.PositiveIntegerField(default=0)
    pieces_by = models.JSONField(null=True)
    handler = models.CharField(max_length=80, blank=True)
    place = models.CharField(max_length=80, blank=True)
    beside = models.UUIDField(null=True)
    started_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [
            models.Index(fields=["programme", "started_at"]),
            models.Index(fields=["beside"], condition=Q(beside__isnull=False), name="session_beside"),
        ]


class SessionEvent(AppendOnly):
    """One entry of a session's log, exactly as the device wrote it. Never changed.

    `session_id` is a plain key: an entry may arrive before the start of its session does.
    """

    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")
    event_id = models.UUIDField()
    device_id = models.UUIDField()
    device_seq = models.PositiveBigIntegerField()
    session_id = models.UUIDField()
    kind = models.CharField(max_length=24, choices=[(k.value, k.value) for k in EventKind])
    at = models.DateTimeField()
    tz_offset_min = models.SmallIntegerField(default=0)
    payload = models.JSONField(default=dict)
    received_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["workspace", "event_id"], name="one_event_an_id")]
        indexes = [models.Index(fields=["workspace", "session_id"])]


class Trial(models.Model):
    """A trial or hold folded from a session's events: a cache that can be made again from the log."""

    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")
    session = models.ForeignKey(TrainingSession, on_delete=models.CASCADE, related_name="trials")
    programme = models.ForeignKey(Programme, on_delete=models.CASCADE, related_name="trials")
    event_id = models.UUIDField()
    at = models.DateTimeField()
    behaviour = models.CharField(max_length=60)
    step = models.CharField(max_length=60)
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in SessionKind])
    source = models.CharField(max_length=12, choices=[(s.value, s.value) for s in TrialSource])
    outcome = models.CharField(max_length=8, choices=[(o.value, o.value) for o in Outcome])
    latency_s = models.FloatField(null=True)
    held_s = models.FloatField(null=True)
    target_s = models.FloatField(null=True)
    broke = models.BooleanField(null=True)
    pieces = models.PositiveSmallIntegerField(default=0)

    class Meta:
        indexes = [models.Index(fields=["programme", "behaviour", "at"])]
