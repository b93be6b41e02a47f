"""Bringing in absences that were kept in a spreadsheet."""

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.sheets.absences import read_absence_rows
from pupilage.core.sheets.text import read_table
from pupilage.services.log_absence import log_absence
from pupilage.storage.models import Absence
from pupilage.storage.queries.dogs import dog_writable_by


@dataclass(frozen=True)
class ImportedAbsences:
    """What became of a sheet. n_known: rows that had been imported before."""

    n_rows: int
    n_added: int
    n_known: int


def import_absences(actor: Actor, dog_id: UUID, content: bytes, *, now: datetime) -> ImportedAbsences:
    """Write the absences of a CSV file. One transaction: all of them or nothing.

    Who may: whoever may write. Idempotent: a row of a time that was imported before adds nothing. An absence that
    stands already, under an id of its own, is refused as overlapping. Raises InvalidInput with every bad row.
    """
    dog = dog_writable_by(actor, dog_id)
    rows = read_absence_rows(read_table(content), zone=actor.zone)
    records = [(number, replace(one, id=str(uuid5(dog.id, one.at.isoformat())))) for number, one in rows]
    known = Absence.objects.filter(workspace_id=actor.workspace_id, id__in=[UUID(one.id) for _, one in records])
    known_ids = {str(one) for one in known.values_list("id", flat=True)}
    problems = []
    with transaction.atomic():
        for number, one in records:
            try:
                log_absence(actor, dog_id, one, now=now)
            except InvalidInput as error:
                problems += [
                    Problem(f"row {number}", problem.sentence.template, **problem.sentence.figures)
                    for problem in error.problems
                ]
        if problems:
            raise InvalidInput(problems)
    n_known = sum(one.id in known_ids for _, one in records)
    return ImportedAbsences(len(records), len(records) - n_known, n_known)
