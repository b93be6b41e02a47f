"""Absences of a dog, as core's type."""

from datetime import datetime
from typing import Any

from pupilage.core.incidents.absences import AbsenceRecord, Had, SignAt, Spot, State, Watched
from pupilage.core.incidents.alone import Sign
from pupilage.storage.models import Absence, AloneAdvice, Dog


def list_absences(dog: Dog) -> list[AbsenceRecord]:
    """Return the absences that stand, the oldest first. One query."""
    rows = Absence.objects.filter(dog=dog, workspace_id=dog.workspace_id, taken_back_at=None).order_by("at", "id")
    return [absence_of(row) for row in rows]


def last_advice(dog: Dog) -> tuple[datetime, str] | None:
    """Return when practice was last said to go on, and the words; None where nobody has said so. One query."""
    rows = AloneAdvice.objects.filter(dog=dog, workspace_id=dog.workspace_id, taken_back_at=None)
    return rows.order_by("-at").values_list("at", "words").first()


def absence_of(row: Absence) -> AbsenceRecord:
    """Return a row as core's type; a key that is no longer in use is left out."""
    return AbsenceRecord(
        id=str(row.id),
        at=row.at,
        away_s=row.away_s,
        signs=tuple(SignAt(Sign(one["sign"]), one["at_s"]) for one in row.signs if one["sign"] in set(Sign)),
        spot=Spot(row.spot) if row.spot else None,
        resident=row.resident,
        had=tuple(Had(key) for key in row.had if key in set(Had)),
        state=tuple(State(key) for key in row.state if key in set(State)),
        watched=Watched(row.watched),
        watched_s=row.watched_s,
        note=row.note,
    )


def columns_of(record: AbsenceRecord) -> dict[str, Any]:
    """Return a record as the columns of its row, but for its id and its dog."""
    return {
        "at": record.at,
        "away_s": record.away_s,
        "signs": [{"sign": one.sign.value, "at_s": one.at_s} for one in record.signs],
        "spot": record.spot or "",
        "resident": record.resident,
        "had": [one.value for one in record.had],
        "state": [one.value for one in record.state],
        "watched": record.watched.value,
        "watched_s": record.watched_s,
        "note": record.note,
    }
