"""Incidents as a sheet, which `import_incidents` reads back as it was."""

import csv
import io
from collections.abc import Iterable

from pupilage.core.incidents.record import Incident
from pupilage.core.sheets.incident_rows import COLUMNS


def write_incident_sheet(incidents: Iterable[Incident]) -> str:
    """Return the incidents as CSV with a header, in the order given; times in UTC with their offset."""
    out = io.StringIO(newline="")
    sheet = csv.writer(out)
    sheet.writerow(COLUMNS)
    for incident in incidents:
        row = {**vars(incident), "at": incident.at.isoformat(), "before": " ".join(incident.before)}
        sheet.writerow("" if row[name] is None else row[name] for name in COLUMNS)
    return out.getvalue()
