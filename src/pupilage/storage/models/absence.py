"""Absences: the pup left alone, with its signs; and what a professional said after panic."""

from django.db import models

from pupilage.core.incidents.absences import Spot, Watched
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import Owned


class Absence(Owned):
    """One absence. signs: a list of {sign, at_s}, at_s None where it was found afterwards; had, state: lists of keys.

    A row is never changed: a wrong one is taken back, and one with more signs replaces it.
    """

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="absences")
    at = models.DateTimeField()
    away_s = models.FloatField()
    signs = models.JSONField(default=list)
    spot = models.CharField(max_length=12, blank=True, choices=[(one.value, one.value) for one in Spot])
    resident = models.BooleanField(default=False)
    had = models.JSONField(default=list)
    state = models.JSONField(default=list)
    watched = models.CharField(max_length=12, choices=[(one.value, one.value) for one in Watched])
    watched_s = models.FloatField(null=True)
    note = models.TextField(blank=True)
    replaces = models.ForeignKey("self", on_delete=models.PROTECT, null=True, related_name="replaced_by")
    taken_back_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["dog", "at"])]


class AloneAdvice(Owned):
    """A veterinarian or veterinary behaviourist said that practice may go on: what came before counts no more."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="alone_advice")
    at = models.DateTimeField()
    words = models.TextField()
    taken_back_at = models.DateTimeField(null=True)
