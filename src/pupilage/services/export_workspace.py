"""Everything that a workspace owns, as one JSON document."""

import json
from base64 import b64encode
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, TextIO
from uuid import UUID

from django.apps import apps
from django.db import models, transaction

from pupilage import __version__
from pupilage.core.access import Actor, Role
from pupilage.core.errors import Forbidden
from pupilage.services.auditing import audit
from pupilage.storage.database import newest_migration
from pupilage.storage.models import User, Workspace

FORMAT = "pupilage-export"
FORMAT_VERSION = 1
PERSON_FIELDS = ("id", "username", "display_name")
"""No password, no e-mail: an export is given away."""


@dataclass(frozen=True)
class Exported:
    """How many rows of each table were written."""

    n_rows: dict[str, int]


def export_workspace(actor: Actor, out: TextIO, *, now: datetime) -> Exported:
    """Write the workspace as JSON, row by row, and return the counts.

    Who may: its keeper. One transaction, so that the tables fit together; others wait for their writes meanwhile.
    """
    if actor.role is not Role.KEEPER:
        raise Forbidden("Only the keeper may take everything out of a workspace; ask them.")
    with transaction.atomic():
        audit(actor, "export-workspace", str(actor.workspace_id), now=now)
        out.write("{\n")
        _write_head(actor, out, now)
        n_rows = {}
        out.write('"tables": {')
        for i, (name, rows) in enumerate(_tables(actor)):
            out.write(f"{',' if i else ''}\n{_json(name)}: [")
            n_rows[name] = _write_rows(rows, out)
            out.write("]")
        out.write("\n}}\n")
    return Exported(n_rows)


def _write_head(actor: Actor, out: TextIO, now: datetime) -> None:
    head = {
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "pupilage": __version__,
        "schema": newest_migration(),
        "made_at": now,
        "workspace": next(_rows(Workspace.objects.filter(id=actor.workspace_id))),
    }
    for key, value in head.items():
        out.write(f"{_json(key)}: {_json(value)},\n")


def owned_models() -> list[type[models.Model]]:
    """Return every model whose rows belong to a workspace: a new one is exported without being named here."""
    return [
        model
        for model in apps.get_app_config("storage").get_models()
        if any(field.name == "workspace" for field in model._meta.concrete_fields)
    ]


def _tables(actor: Actor) -> Iterator[tuple[str, Iterator[dict[str, Any]]]]:
    people = User.objects.filter(memberships__workspace_id=actor.workspace_id).order_by("id")
    yield "User", iter(people.values(*PERSON_FIELDS).iterator())
    for model in owned_models():
        rows = model._default_manager.filter(workspace_id=actor.workspace_id).order_by("pk")
        yield model.__name__, _rows(rows)


def _rows(rows: models.QuerySet[Any]) -> Iterator[dict[str, Any]]:
    yield from rows.values(*(field.attname for field in rows.model._meta.concrete_fields)).iterator()


def _write_rows(rows: Iterator[dict[str, Any]], out: TextIO) -> int:
    n = 0
    for row in rows:
        out.write(f"{',' if n else ''}\n{_json(row)}")
        n += 1
    return n


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, default=_plain)


def _plain(value: Any) -> str:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, bytes | memoryview):
        return b64encode(value).decode("ascii")
    raise TypeError(f"{type(value).__name__} has no place in an export.")
