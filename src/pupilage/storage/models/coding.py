"""What other people wrote down of a session or a recording, so that two codings can be laid side by side."""

from django.db import models
from django.db.models import Q

from pupilage.core.evaluation.codings import EntryKind
from pupilage.storage.models.household import Dog
from pupilage.storage.models.owned import AppendOnly, AppendOnlyQuerySet, Owned
from pupilage.storage.models.session import TrainingSession


class Coding(Owned):
    """One person's coding of a session, or of a recording by its name. observer: as typed, whoever is signed in.

    Its marks are entries of their own (`CodingEntry`), in seconds from the start; this row never changes.
    """

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="codings")
    session = models.ForeignKey(TrainingSession, on_delete=models.PROTECT, related_name="codings", null=True)
    recording = models.CharField(max_length=200, blank=True)
    observer = models.CharField(max_length=80)
    made_by = models.UUIDField(null=True)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(session__isnull=False) | ~Q(recording=""), name="coding_says_of_what_it_is"
            ),
        ]
        indexes = [models.Index(fields=["dog", "made_at"])]


class CodingEntry(AppendOnly):
    """One tap of the person who codes. Never changed: a wrong one is taken back by another entry."""

    objects = AppendOnlyQuerySet.as_manager()  # the base's own; said again, since mypy's plugin loses its type here

    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")
    coding = models.ForeignKey(Coding, on_delete=models.PROTECT, related_name="entries")
    entry_id = models.UUIDField()
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in EntryKind])
    time_s = models.FloatField()
    code = models.CharField(max_length=40, blank=True)
    withdraws = models.UUIDField(null=True)
    received_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["workspace", "entry_id"], name="one_coding_entry_an_id")]
