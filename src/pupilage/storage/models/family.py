"""What the family gets and gives: links, the page behind them, pictures, what they write down, the last lesson."""

from django.db import models
from django.db.models import Q

from pupilage.core.handover.family_log import EntryKind
from pupilage.core.handover.family_parts import MediaKind
from pupilage.storage.models.owned import AppendOnly, AppendOnlyQuerySet, Owned
from pupilage.storage.models.programme import Programme


class FamilyLink(Owned):
    """A link by which a family sees one stay without signing in. Only the hash of its token is stored.

    for_whom: a name for the trainer and for what is written with it; may_write: whether anything can be. made_by: the
    trainer's id. language: of the page behind it, which may be another than the workspace's.
    """

    objects = models.Manager()  # the plain one; said, since mypy's plugin loses its type here

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="family_links")
    for_whom = models.CharField(max_length=80)
    language = models.CharField(max_length=8)
    may_write = models.BooleanField(default=False)
    token_hash = models.CharField(max_length=64, unique=True)
    made_by = models.UUIDField()
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
    last_opened_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["programme", "made_at"])]


class FamilyPage(Owned):
    """What the trainer leaves out of the family's page, and a few words of theirs at its top.

    handlers: names in sessions that are people of the family; null while nobody has said, which takes every name.
    """

    programme = models.OneToOneField(Programme, on_delete=models.PROTECT, related_name="family_page")
    parts_left_out = models.JSONField(default=list)
    behaviours_left_out = models.JSONField(default=list)
    words = models.TextField(blank=True)
    handlers = models.JSONField(null=True)


class FamilyMedia(Owned):
    """A picture or a clip for the family's page, made anew from what was brought in: nothing of the first file is kept.

    Its bytes stand in the database, so that a backup has them and deleting the row deletes them.
    """

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="family_media")
    kind = models.CharField(max_length=8, choices=[(k.value, k.value) for k in MediaKind])
    body = models.BinaryField()
    n_bytes = models.PositiveIntegerField()
    width = models.PositiveSmallIntegerField()
    height = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=200, blank=True)
    added_at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["programme", "added_at"])]


class FamilyEntry(AppendOnly):
    """Something a family wrote down, or told the trainer who wrote it for them. Never mixed into the trainer's log.

    link: by which it came, null for what was told; told_to: the trainer's id then. subject: a behaviour's key, or how
    an outing went; week: of the follow-up that asked for it. A wrong one is taken back by another entry.
    """

    objects = AppendOnlyQuerySet.as_manager()  # the base's own; said again, since mypy's plugin loses its type here

    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")
    entry_id = models.UUIDField()
    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="family_entries")
    link = models.ForeignKey(FamilyLink, on_delete=models.PROTECT, related_name="entries", null=True)
    told_to = models.UUIDField(null=True)
    kind = models.CharField(max_length=12, choices=[(k.value, k.value) for k in EntryKind])
    subject = models.CharField(max_length=60, blank=True)
    met = models.BooleanField(null=True)
    week = models.PositiveSmallIntegerField(null=True)
    note = models.TextField(blank=True)
    withdraws = models.UUIDField(null=True)
    at = models.DateTimeField()
    received_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["workspace", "entry_id"], name="one_family_entry_an_id"),
            models.CheckConstraint(
                condition=Q(link__isnull=False, told_to=None) | Q(link=None, told_to__isnull=False),
                name="family_entry_says_how_it_came",
            ),
        ]
        indexes = [models.Index(fields=["programme", "at"])]


class LessonItem(Owned):
    """Something the family does themselves before they leave. key: of a proposed one, "" for the trainer's own words.

    A row is made when an item is ticked, written or taken off; ticked_by: who did it, as typed.
    """

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="lesson_items")
    key = models.CharField(max_length=80, blank=True)
    words = models.CharField(max_length=200, blank=True)
    ticked_at = models.DateTimeField(null=True)
    ticked_by = models.CharField(max_length=80, blank=True)
    left_out = models.BooleanField(default=False)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["programme", "key"], condition=~Q(key=""), name="one_lesson_item_a_key"),
        ]


class FamilyCall(Owned):
    """The trainer called the family, and what came of it: reasons from before it are settled."""

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="family_calls")
    at = models.DateTimeField()
    by = models.UUIDField()
    words = models.TextField(blank=True)
