"""Plans against unwanted behaviours, phase by phase."""

from django.db import models
from django.db.models import Q

from pupilage.core.incidents.phases import PhaseKind
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import Owned


class ChangePlan(Owned):
    """What is done against one behaviour from a day on, or that it ends on that day.

    A row is never changed: a plan that changes is another row with a later day; one written anew for the same day
    takes the earlier one back, and both stay stored. replacement: key of a behaviour, "" for none.
    """

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="change_plans")
    behaviour = models.CharField(max_length=60)
    starts_on = models.DateField()
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in PhaseKind])
    arrange = models.JSONField(default=list)
    replacement = models.CharField(max_length=60, blank=True)
    gain_stops = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    written_at = models.DateTimeField()
    taken_back_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["dog", "behaviour", "starts_on"],
                condition=Q(taken_back_at=None),
                name="one_phase_a_day_and_behaviour",
            )
        ]
