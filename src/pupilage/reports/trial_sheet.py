"""Tries as a sheet, which `import_trials` reads back as they were."""

import csv
import io
from collections.abc import Mapping, Sequence
from datetime import tzinfo

from pupilage.core.progress.days import SessionSpan
from pupilage.core.sheets.cells import guarded
from pupilage.core.sheets.columns import Column
from pupilage.core.training.record.evidence import Trial


def write_trial_sheet(
    trials: Sequence[Trial], spans: Mapping[str, SessionSpan], reinforcers: Mapping[str, str], zone: tzinfo
) -> str:
    """Return the tries as CSV with a header, in time order; days and times are those of the zone.

    Parameters: spans, of their sessions by id; reinforcers, what was in the pouch, by the try's id. Sessions are
    numbered in the order of their first tries.
    """
    out = io.StringIO(newline="")
    sheet = csv.writer(out)
    sheet.writerow(Column)
    numbers: dict[str, int] = {}
    for trial in sorted(trials, key=lambda one: one.at):
        number = numbers.setdefault(trial.session_id, len(numbers) + 1)
        cells = _cells(trial, spans[trial.session_id], reinforcers.get(trial.event_id, ""), zone)
        sheet.writerow({**cells, Column.SESSION: number}[column] for column in Column)
    return out.getvalue()


def _cells(trial: Trial, span: SessionSpan, reinforcer: str, zone: tzinfo) -> dict[Column, object]:
    local, hold = trial.at.astimezone(zone), trial.hold
    return {
        Column.DATE: local.date().isoformat(),
        Column.TIME: f"{local:%H:%M:%S}",
        Column.BEHAVIOUR: trial.behaviour,
        Column.STEP: trial.step,
        Column.OUTCOME: trial.outcome.value,
        Column.LATENCY: _seconds(trial.latency_s),
        Column.HELD: _seconds(hold.held_s) if hold else "",
        Column.TARGET: _seconds(hold.target_s) if hold else "",
        Column.PIECES: trial.pieces,
        Column.REINFORCER: guarded(reinforcer),
        Column.KIND: trial.kind.value,
        Column.PLACE: guarded(span.place),
        Column.HANDLER: guarded(span.handler),
        Column.BROKE: "" if hold is None else "yes" if hold.broke else "no",
        Column.TRIAL: trial.event_id,
    }


def _seconds(value: float | None) -> str:
    """Return seconds to the microsecond, never with an exponent, which a sheet may not hold."""
    return "" if value is None else f"{value:.6f}".rstrip("0").rstrip(".")
