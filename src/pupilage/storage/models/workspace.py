"""Who uses an installation: people, their workspaces and devices, and what they did."""

import uuid

from django.contrib.auth.models import AbstractUser
from django.db import models

from pupilage.core.access import Role
from pupilage.core.units import WeightUnit
from pupilage.storage.models.owned import AppendOnly


class Installation(models.Model):
    """The database itself: one row. A restored backup gets a new `database_id`, so that phones notice."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1)
    database_id = models.UUIDField(default=uuid.uuid4)
    restored_at = models.DateTimeField(null=True)


class User(AbstractUser):
    """A person who signs in."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    display_name = models.CharField(max_length=120, blank=True)

    class Meta:
        db_table = "storage_user"


class Workspace(models.Model):
    """What one trainer, or a team, keeps together. Owns every other row.

    vet_phone, poison_phone: as the trainer typed them, for the pages where a minute counts.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    name = models.CharField(max_length=120)
    timezone = models.CharField(max_length=64)
    weight_unit = models.CharField(max_length=2, choices=[(u.value, u.value) for u in WeightUnit], default="kg")
    language = models.CharField(max_length=12, default="en")
    vet_phone = models.CharField(max_length=60, blank=True)
    poison_phone = models.CharField(max_length=60, blank=True)
    invented = models.BooleanField(default=False)
    created_at = models.DateTimeField()


class Membership(models.Model):
    """A person's place in a workspace."""

    workspace = models.ForeignKey(Workspace, on_delete=models.PROTECT, related_name="memberships")
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=12, choices=[(r.value, r.value) for r in Role])

    class Meta:
        constraints = [models.UniqueConstraint(fields=["workspace", "user"], name="one_membership_a_person")]


class Device(models.Model):
    """A phone, a browser or an import that writes events. Its id is chosen by the device."""

    workspace = models.ForeignKey(Workspace, on_delete=models.PROTECT, related_name="+")
    device_id = models.UUIDField()
    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", null=True)
    last_seen_at = models.DateTimeField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["workspace", "device_id"], name="one_device_a_workspace")]


class AuditEntry(AppendOnly):
    """One row for each thing a person changed: who, what, when."""

    workspace = models.ForeignKey(Workspace, on_delete=models.PROTECT, related_name="+")
    user_id = models.UUIDField(null=True)
    action = models.CharField(max_length=60)
    subject = models.CharField(max_length=120)
    detail = models.JSONField(default=dict)
    at = models.DateTimeField()


class SignInLink(models.Model):
    """A one-time link. Only the hash of its token is stored."""

    token_hash = models.CharField(max_length=64, primary_key=True)
    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
