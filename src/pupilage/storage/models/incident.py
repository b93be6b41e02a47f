"""Incidents: antecedent, behaviour, consequence."""

from django.db import models

from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import Owned


class Incident(Owned):
    """One unwanted event, with an honest record of what people did."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="incidents")
    behaviour = models.CharField(max_length=60)
    at = models.DateTimeField()
    place = models.CharField(max_length=120, blank=True)
    antecedent = models.TextField(blank=True)
    consequence = models.TextField(blank=True)
    people_did = models.TextField(blank=True)
    supervised = models.BooleanField(default=True)
    note = models.TextField(blank=True)

    class Meta:
        indexes = [models.Index(fields=["dog", "at"])]
