"""Incidents: antecedent, behaviour, consequence."""

from django.db import models

from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.teeth import Teeth
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import Owned


class Incident(Owned):
    """One unwanted event, or a time it was left (`left_it`), with an honest record of what people did.

    before: keys of what came just before (`record.Before`). context: what the log knew when it was written down
    (`context.Context`): kept, since the log may be put right later. between: of one with the resident dog
    (`between_dogs.BetweenDogs`), only what was seen. A row is never changed: a wrong one is taken back.
    """

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="incidents")
    behaviour = models.CharField(max_length=60)
    at = models.DateTimeField()
    place = models.CharField(max_length=120, blank=True)
    before = models.JSONField(default=list)
    antecedent = models.TextField(blank=True)
    gained = models.CharField(max_length=12, blank=True, choices=[(g.value, g.value) for g in Gain])
    consequence = models.TextField(blank=True)
    people_did = models.TextField(blank=True)
    supervised = models.BooleanField(default=True)
    left_it = models.BooleanField(default=False)
    slip = models.BooleanField(default=False)
    teeth = models.CharField(max_length=12, blank=True, choices=[(t.value, t.value) for t in Teeth])
    note = models.TextField(blank=True)
    near_miss = models.BooleanField(default=False)
    in_charge = models.CharField(max_length=120, blank=True)
    context = models.JSONField(default=dict)
    between = models.JSONField(default=dict)
    taken_back_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["dog", "at"])]
