"""The care log."""

from django.db import models

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import AppendOnly


class CareEvent(AppendOnly):
    """One entry of the care log. Never changed: a wrong one is taken back by another entry."""

    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")
    event_id = models.UUIDField()
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="care_events")
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in CareKind])
    detail = models.CharField(max_length=12, blank=True, choices=[(d.value, d.value) for d in CareDetail])
    amount_g = models.FloatField(null=True)
    note = models.TextField(blank=True)
    withdraws = models.UUIDField(null=True)
    at = models.DateTimeField()
    tz_offset_min = models.SmallIntegerField(default=0)
    received_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["workspace", "event_id"], name="one_care_event_an_id")]
        indexes = [models.Index(fields=["dog", "at"])]
