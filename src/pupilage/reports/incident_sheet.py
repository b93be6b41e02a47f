"""Incidents as a sheet, which `import_incidents` reads back as it was."""

import csv
import io
from collections.abc import Iterable

from pupilage.core.incidents.between_dogs import BetweenDogs
from pupilage.core.incidents.context import Context
from pupilage.core.incidents.record import Incident
from pupilage.core.sheets.incident_rows import BETWEEN, COLUMNS


def write_incident_sheet(incidents: Iterable[Incident]) -> str:
    """Return the incidents as CSV with a header, in the order given; times in UTC with their offset."""
    out = io.StringIO(newline="")
    sheet = csv.writer(out)
    sheet.writerow(COLUMNS)
    for incident in incidents:
        sheet.writerow(_cells(incident))
    return out.getvalue()


def _cells(incident: Incident) -> list[object]:
    known = vars(incident.context or Context())
    seen = vars(incident.between or BetweenDogs())
    row = {
        **vars(incident),
        **known,
        **{name: seen[name.removeprefix("dog_")] for name in BETWEEN},
        "at": incident.at.isoformat(),
        "before": " ".join(incident.before),
    }
    return ["" if row[name] is None else row[name] for name in COLUMNS]
