"""Reading the file of taps that a phone could not send, as a last resort."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import ValidationError

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.core.training.record.events import Event
from pupilage.core.words import Sentence, sentence
from pupilage.services.event_body import EventBody
from pupilage.services.read_owner import read_owner
from pupilage.services.record_events import MAX_EVENTS_A_CALL, Status, record_events

FORMAT, VERSION = "pupilage-taps", 1


@dataclass(frozen=True)
class ImportedTaps:
    """What became of a file: taps stored, known before, of another account, and refused with the reason."""

    n_stored: int
    n_known: int
    n_others: int
    refused: tuple[tuple[str, Sentence], ...]


def import_taps(actor: Actor, content: bytes, *, now: datetime, whoever: bool = False) -> ImportedTaps:
    """Write the taps of a phone's file into the log, 200 in a transaction.

    Who may: whoever may write. Idempotent: a tap that is known, by whatever way it came, is left as it is.
    whoever: also those made for another account, such as before a backup was restored.
    Raises InvalidInput for a file that is no such file.
    """
    actor.require_write()
    owner = read_owner(actor)
    rows = _read(content)
    own = [row for row in rows if whoever or row.get("owner") == owner]
    events, refused = [], []
    for row in own:
        event = _event(row)
        if isinstance(event, Event):
            events.append(event)
        else:
            refused.append(event)
    counts = {Status.STORED: 0, Status.DUPLICATE: 0}
    for first in range(0, len(events), MAX_EVENTS_A_CALL):
        for verdict in record_events(actor, events[first : first + MAX_EVENTS_A_CALL], now=now):
            if verdict.status is Status.REJECTED:
                refused.append((verdict.event_id, verdict.reason or sentence("It was refused.")))
            else:
                counts[verdict.status] += 1
    return ImportedTaps(counts[Status.STORED], counts[Status.DUPLICATE], len(rows) - len(own), tuple(refused))


def _read(content: bytes) -> list[dict[str, Any]]:
    try:
        file = json.loads(content)
    except (ValueError, RecursionError):
        file = None
    if not isinstance(file, dict) or file.get("format") != FORMAT or not isinstance(file.get("taps"), list):
        raise InvalidInput.of(
            "file", "This is no file of taps from a phone; on the logger's list, save what is not sent to a file."
        )
    if file.get("version") != VERSION:
        raise InvalidInput.of(
            "file",
            "This file of taps is of version {version}, which this Pupilage does not know; update it.",
            version=str(file.get("version")),
        )
    return [row if isinstance(row, dict) else {} for row in file["taps"]]


def _event(row: dict[str, Any]) -> Event | tuple[str, Sentence]:
    """Return the event of a row, or what is wrong with it."""
    raw = row.get("event")
    try:
        return EventBody.model_validate(raw).event()
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "event"
        event_id = str(raw.get("id", "?")) if isinstance(raw, dict) else "?"
        return event_id, sentence("“{where}” is not as a phone writes it.", where=where)
