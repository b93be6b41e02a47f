"""What a trainer writes for the family, beside what the record says."""

from django.db import models

from pupilage.storage.models.owned import Owned
from pupilage.storage.models.programme import Programme


class HandoverWords(Owned):
    """A stay's own words for the pack. house_rules: a line each, empty for the usual ones; note: of any length."""

    programme = models.OneToOneField(Programme, on_delete=models.PROTECT, related_name="handover_words")
    release_word = models.CharField(max_length=40, blank=True)
    house_rules = models.TextField(blank=True)
    note = models.TextField(blank=True)
