"""Phones that were paired with this installation."""

from django.db import models

from pupilage.storage.models.owned import Owned


class PairedPhone(Owned):
    """A phone that signs in as one person, or a code that may still make one. Only a hash of its code is stored.

    paired_at: null while nobody has used the code; revoked_at: from then on its session is nobody's.
    """

    objects = models.Manager()  # the plain one; said, since mypy's plugin loses its type here

    user = models.ForeignKey("storage.User", on_delete=models.CASCADE, related_name="+")
    code_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    name = models.CharField(max_length=60, blank=True)
    paired_at = models.DateTimeField(null=True)
    last_seen_at = models.DateTimeField(null=True)
    revoked_at = models.DateTimeField(null=True)
