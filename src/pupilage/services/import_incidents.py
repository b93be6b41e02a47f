"""Bringing in incidents that were kept in a sheet, or written by `pupilage incidents --csv`."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.incidents.context import Context, context_as_stored
from pupilage.core.sheets.incident_rows import IncidentPeriod, IncidentRow, content_id, read_incident_rows
from pupilage.core.sheets.rows import BadRow
from pupilage.core.sheets.text import read_table
from pupilage.core.words import Sentence
from pupilage.services.auditing import audit
from pupilage.services.import_trials import problems_of
from pupilage.services.log_incident import columns_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog
from pupilage.storage.models import Incident as IncidentTable
from pupilage.storage.queries.dogs import dog_writable_by
from pupilage.storage.queries.incidents import incident_of


@dataclass(frozen=True)
class ImportedIncidents:
    """What became of a sheet. n_known: rows that were stored before, or stand twice in it; notes: what was assumed."""

    encoding: str
    separator: str
    n_rows: int
    n_added: int
    n_known: int
    notes: tuple[tuple[int, Sentence], ...]


def import_incidents(actor: Actor, dog_id: UUID, content: bytes, *, now: datetime) -> ImportedIncidents:
    """Write the incidents of a CSV file into a dog's record. One transaction: all of them or nothing.

    Who may: whoever may write. Idempotent: a row of the same id, or without one of the same content, is stored once;
    one that was taken back stays taken back. Raises InvalidInput with every bad row.
    """
    dog = dog_writable_by(actor, dog_id)
    table = read_table(content)
    arrival = dog.programmes.order_by("arrival_on").values_list("arrival_on", flat=True).first()
    reading = read_incident_rows(table, catalogue=load_catalogue(), period=IncidentPeriod(arrival, actor.zone, now))
    if reading.bad:
        raise _refusal(reading.bad, n_rows=len(table.rows))
    with transaction.atomic():
        new = _new_ones(dog, reading.rows, n_rows=len(table.rows))
        IncidentTable.objects.bulk_create(
            IncidentTable(
                id=UUID(row.incident.id),
                workspace_id=actor.workspace_id,
                dog=dog,
                context=context_as_stored(row.incident.context or Context()),
                **columns_of(row.incident),
            )
            for row in new
        )
        if new:
            audit(actor, "import-incidents", str(dog.id), now=now, incidents=len(new))
    return ImportedIncidents(
        encoding=table.encoding,
        separator=table.separator,
        n_rows=len(table.rows),
        n_added=len(new),
        n_known=len(reading.rows) - len(new),
        notes=tuple((row.number, row.note) for row in new if row.note is not None),
    )


def _new_ones(dog: Dog, rows: Sequence[IncidentRow], *, n_rows: int) -> list[IncidentRow]:
    """Return the rows that are not stored yet, each with the id it is stored under.

    An id that stands for another dog's incident, in this workspace or another, gives one of this dog's own.
    Raises InvalidInput for an id that is stored here with another content.
    """
    stored = {str(row.id): incident_of(row) for row in IncidentTable.objects.filter(dog=dog)}
    known = {content_id(one, dog.id) for one in stored.values()}
    elsewhere = _ids_elsewhere(dog, rows)
    new: list[IncidentRow] = []
    bad: list[BadRow] = []
    for row in rows:
        content = content_id(row.incident, dog.id)
        given = row.incident.id
        if given in elsewhere:
            given = str(uuid5(dog.id, given))
        if given in stored and content_id(stored[given], dog.id) != content:
            bad.append(BadRow(row.number, (_OTHER_CONTENT,)))
        elif given not in stored and content not in known:
            incident = replace(row.incident, id=given or str(content))
            new.append(replace(row, incident=incident))
            stored[incident.id] = incident
            known.add(content)
    if bad:
        raise _refusal(bad, n_rows=n_rows)
    return new


_OTHER_CONTENT = Problem(
    "id",
    "This id is stored with another content. Nothing stored is changed: take that incident back on its page, and empty "
    "this cell to write the row as a new one.",
)


def _ids_elsewhere(dog: Dog, rows: Sequence[IncidentRow]) -> set[str]:
    given = [row.incident.id for row in rows if row.incident.id]
    found = IncidentTable.objects.filter(id__in=given).exclude(dog=dog).values_list("id", flat=True)
    return {str(each) for each in found}


def _refusal(bad: Sequence[BadRow], *, n_rows: int) -> InvalidInput:
    head = Problem(
        "",
        "Nothing was imported: {bad} of {n} rows cannot be stored as they are. Correct them, and give the file again.",
        bad=len(bad),
        n=n_rows,
    )
    return InvalidInput([head, *problems_of(bad)])
