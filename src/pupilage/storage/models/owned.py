"""What every row that belongs to a workspace has in common."""

import uuid
from typing import Any, NoReturn

from django.db import models

from pupilage.core.errors import Conflict


class Owned(models.Model):
    """A row of one workspace. Rows of two workspaces never refer to each other."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    workspace = models.ForeignKey("storage.Workspace", on_delete=models.PROTECT, related_name="+")

    class Meta:
        abstract = True


class AppendOnlyQuerySet(models.QuerySet[Any]):
    """Refuses to change or delete many rows at once."""

    def update(self, **_: Any) -> NoReturn:
        raise Conflict("This log is only added to; write a correction instead of changing an entry.")

    def delete(self) -> NoReturn:
        raise Conflict("This log is only added to; take an entry back instead of deleting it.")

    def bulk_update(self, *_: Any, **__: Any) -> NoReturn:
        self.update()


class AppendOnly(models.Model):
    """A row that is written once."""

    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if not self._state.adding:
            raise Conflict("This log is only added to; write a correction instead of changing an entry.")
        super().save(*args, **kwargs)

    def delete(self, *_: Any, **__: Any) -> NoReturn:
        raise Conflict("This log is only added to; take an entry back instead of deleting it.")
