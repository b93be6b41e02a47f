"""The timetable of a day, what it is made from, and the link by which a calendar reads it."""

from django.db import models
from django.db.models import F, Q

from pupilage.core.planning.day.blocks import BlockKind, BlockState
from pupilage.storage.models.owned import Owned
from pupilage.storage.models.programme import Programme


class Appointment(Owned):
    """A time at which the trainer is busy. comes_along: the pup is there too, else it rests; whole_day: a day off.

    covered: somebody else is there who takes the pup out meanwhile.
    One that was deleted is kept, and no longer asked for.
    """

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="appointments")
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    words = models.CharField(max_length=120, blank=True)
    comes_along = models.BooleanField(default=False)
    covered = models.BooleanField(default=False)
    whole_day = models.BooleanField(default=False)
    deleted_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(ends_at__gt=F("starts_at")), name="appointment_ends_after_start"),
        ]
        indexes = [models.Index(fields=["programme", "starts_at"])]


class DayPreferences(Owned):
    """How the days of a stay usually run (`core.planning.day.preferences`)."""

    programme = models.OneToOneField(Programme, on_delete=models.PROTECT, related_name="day_preferences")
    chosen = models.JSONField(default=dict)


class DayPlan(Owned):
    """A local day's timetable.

    version rises with every change of the plan or of what it is made from; the plan fits what was known at
    `fits_version`, so that one made from older knowledge is never written over newer. broken: the soft rules that it
    broke; trouble: why the newest attempt gave none, a sentence each.
    """

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="day_plans")
    day = models.DateField()
    version = models.PositiveIntegerField(default=0)
    fits_version = models.PositiveIntegerField(default=0)
    made_at = models.DateTimeField(null=True)
    status = models.CharField(max_length=12, blank=True)
    gap = models.FloatField(default=0.0)
    seconds = models.FloatField(default=0.0)
    broken = models.JSONField(default=list)
    trouble = models.JSONField(default=list)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["programme", "day"], name="one_timetable_a_day")]


class PlanBlock(Owned):
    """One block of a timetable. care_event: the entry of the care log that ticking it off has written.

    sequence: the plan's version when the block last changed, which a calendar reads as its SEQUENCE.
    """

    plan = models.ForeignKey(DayPlan, on_delete=models.PROTECT, related_name="blocks")
    key = models.CharField(max_length=40)
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in BlockKind])
    starts_at = models.DateTimeField()
    ends_at = models.DateTimeField()
    state = models.CharField(
        max_length=8, choices=[(s.value, s.value) for s in BlockState], default=BlockState.PLANNED.value
    )
    detail = models.JSONField(default=dict)
    care_event = models.UUIDField(null=True)
    sequence = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["plan", "key"], name="one_block_a_key")]


class CalendarLink(Owned):
    """A link by which a calendar reads a stay's timetable without signing in. Only the hash of its token is stored."""

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="calendar_links")
    user = models.ForeignKey("storage.User", on_delete=models.CASCADE, related_name="+")
    token_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
