"""Bringing in trials that were kept in a spreadsheet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.sheets.cells import DateOrder
from pupilage.core.sheets.moments import Period
from pupilage.core.sheets.rows import BadRow, read_rows
from pupilage.core.sheets.sessions import SessionWriter, SheetTrial, group_sessions, identify
from pupilage.core.sheets.text import read_table
from pupilage.core.training.record.events import Event
from pupilage.core.training.record.evidence import TrialSource
from pupilage.core.words import Sentence
from pupilage.services.auditing import audit
from pupilage.services.record_events import MAX_EVENTS_A_CALL, Status, record_events
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.known_events import known_event_ids
from pupilage.storage.queries.programmes import programme_writable_by


@dataclass(frozen=True)
class ImportOptions:
    """How a sheet is read. columns: {"outcome": "Got it?"} where a header is called otherwise."""

    columns: Mapping[str, str] = field(default_factory=dict)
    date_order: DateOrder | None = None
    skip_bad: bool = False


@dataclass(frozen=True)
class Imported:
    """What became of a sheet. n_known: rows that had been imported before; notes: what was assumed, by row."""

    encoding: str
    separator: str
    n_rows: int
    n_added: int
    n_known: int
    n_sessions: int
    bad: tuple[BadRow, ...]
    notes: tuple[tuple[int, Sentence], ...]


def import_trials(
    actor: Actor, programme_id: UUID, content: bytes, options: ImportOptions, *, now: datetime
) -> Imported:
    """Write the trials of a CSV file into a programme's log. One transaction: all of them or nothing.

    Who may: whoever may write. Idempotent: a row that was imported before is known, and adds nothing.
    Raises InvalidInput with every bad row, unless told to skip them.
    """
    programme = programme_writable_by(actor, programme_id)
    period = Period(programme.arrival_on, programme.handover_on, actor.zone, now)
    table = read_table(content)
    reading = read_rows(
        table,
        catalogue=load_catalogue(),
        period=period,
        columns=options.columns,
        date_order=options.date_order,
    )
    if reading.bad and not options.skip_bad:
        raise refusal(reading.bad, n_rows=len(table.rows))
    with transaction.atomic():
        trials = identify(reading.rows, programme_id, period)
        known = known_event_ids(actor, [trial.id for trial in trials])
        new = [trial for trial in trials if trial.id not in known]
        sessions = group_sessions(new)
        _write(actor, sessions, SessionWriter(programme_id, uuid5(actor.workspace_id, "import"), period), now)
        if new:
            audit(actor, "import-trials", str(programme_id), now=now, trials=len(new), sessions=len(sessions))
    return Imported(
        encoding=table.encoding,
        separator=table.separator,
        n_rows=len(table.rows),
        n_added=len(new),
        n_known=len(trials) - len(new),
        n_sessions=len(sessions),
        bad=reading.bad,
        notes=tuple((trial.row.number, trial.note) for trial in new if trial.note is not None),
    )


def _write(actor: Actor, sessions: Sequence[Sequence[SheetTrial]], writer: SessionWriter, now: datetime) -> None:
    events = [event for session in sessions for event in writer.write(session)]
    for first in range(0, len(events), MAX_EVENTS_A_CALL):
        _record(actor, events[first : first + MAX_EVENTS_A_CALL], writer, now)


def _record(actor: Actor, batch: list[Event], writer: SessionWriter, now: datetime) -> None:
    verdicts = record_events(actor, batch, now=now, source=TrialSource.IMPORTED)
    refused = [verdict for verdict in verdicts if verdict.status is Status.REJECTED]
    if refused:
        raise InvalidInput(
            Problem(f"row {writer.rows[v.event_id]}", "It was not stored: {reason}", reason=str(v.reason))
            for v in refused
        )


def refusal(bad: Sequence[BadRow], *, n_rows: int) -> InvalidInput:
    """Return the refusal of a whole sheet, with every bad row and its reasons."""
    head = Problem(
        "",
        "Nothing was imported: {bad} of {n} rows cannot be read. Correct them, or leave them out with --skip-bad.",
        bad=len(bad),
        n=n_rows,
    )
    return InvalidInput([head, *problems_of(bad)])


def problems_of(bad: Sequence[BadRow]) -> list[Problem]:
    """Return what is wrong with the bad rows, each problem with its row and column."""
    return [
        Problem(
            f"row {row.number}, {problem.where}" if problem.where else f"row {row.number}",
            problem.sentence.template,
            **problem.sentence.figures,
        )
        for row in bad
        for problem in row.problems
    ]
