"""The log of exposures."""

from django.db import models
from django.db.models import Q

from pupilage.core.care.exposures.item import LEAST_INTENSITY, MOST_INTENSITY, VetTopic
from pupilage.core.care.exposures.log import EntryKind, Response
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import AppendOnly, AppendOnlyQuerySet


class ExposureEvent(AppendOnly):
    """One entry of the log of exposures. Never changed: a wrong one is taken back by another entry.

    item, intensity and response belong to a meeting; topic to the veterinarian's word; withdraws to a withdrawal.
    """

    objects = AppendOnlyQuerySet.as_manager()  # the base's own; said again, since mypy's plugin loses its type here

    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")
    event_id = models.UUIDField()
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="exposure_events")
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in EntryKind])
    item = models.CharField(max_length=60, blank=True)
    intensity = models.PositiveSmallIntegerField(null=True)
    response = models.CharField(max_length=12, blank=True, choices=[(r.value, r.value) for r in Response])
    distance_m = models.FloatField(null=True)
    recovery_s = models.FloatField(null=True)
    with_food = models.BooleanField(null=True)
    topic = models.CharField(max_length=12, blank=True, choices=[(t.value, t.value) for t in VetTopic])
    note = models.TextField(blank=True)
    withdraws = models.UUIDField(null=True)
    at = models.DateTimeField()
    tz_offset_min = models.SmallIntegerField(default=0)
    received_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["workspace", "event_id"], name="one_exposure_event_an_id"),
            models.UniqueConstraint(fields=["workspace", "withdraws"], name="one_withdrawal_an_exposure"),
            models.CheckConstraint(
                condition=~Q(kind=EntryKind.MET.value)
                | Q(intensity__isnull=False, intensity__gte=LEAST_INTENSITY, intensity__lte=MOST_INTENSITY)
                & ~Q(item="")
                & ~Q(response=""),
                name="exposure_says_what_and_how",
            ),
        ]
        indexes = [models.Index(fields=["dog", "at"])]
