"""`pupilage import trials`: a spreadsheet's rows into the log."""

from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_json
from pupilage.cli.project import Choice, act
from pupilage.core.errors import InvalidInput

if TYPE_CHECKING:
    from pupilage.services.import_trials import Imported

ORDERS = ("dmy", "mdy")


@click.group("import")
def import_() -> None:
    """Bring in what was kept elsewhere."""


@import_.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--programme", type=click.UUID, help="The programme.  [default: the one that runs]", metavar="ID")
@click.option("--skip-bad", is_flag=True, help="Import the good rows although some are bad.")
@click.option("--column", "columns", multiple=True, help="Which header holds a column.", metavar="NAME=HEADER")
@click.option("--date-order", type=click.Choice(ORDERS), help="How days such as 3/5/2026 are read.")
@json_option
@click.pass_obj
def trials(
    choice: Choice,
    file: Path,
    programme: UUID | None,
    skip_bad: bool,
    columns: tuple[str, ...],
    date_order: str | None,
    as_json: bool,
) -> None:
    """Import the trials of a CSV file.

    Columns: date, time, behaviour, step, outcome, latency, held_s, target_s, pieces, reinforcer, kind, session,
    place, handler.
    One bad row keeps the whole file out, unless --skip-bad is given. Importing twice adds nothing.
    """
    named = dict(_named_column(column) for column in columns)
    content = file.read_bytes()
    actor = act(choice)
    from pupilage.core.sheets.cells import DateOrder
    from pupilage.services.import_trials import ImportOptions, import_trials

    options = ImportOptions(named, DateOrder(date_order) if date_order else None, skip_bad)
    at = now()
    imported = import_trials(actor, find_programme_id(actor, programme, now=at), content, options, now=at)
    if as_json:
        print_json(_facts(imported))
    else:
        _print(imported)


@import_.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--whoever", is_flag=True, help="Import also the taps that were made for another account.")
@json_option
@click.pass_obj
def taps(choice: Choice, file: Path, whoever: bool, as_json: bool) -> None:
    """Import the taps that a phone could not send and saved to a file.

    Importing twice adds nothing, and neither does a phone that sends them afterwards.
    """
    content = file.read_bytes()
    actor = act(choice)
    from pupilage.services.import_taps import import_taps

    found = import_taps(actor, content, now=now(), whoever=whoever)
    if as_json:
        bad = [{"event": event_id, "problem": str(why)} for event_id, why in found.refused]
        print_json({"n_stored": found.n_stored, "n_known": found.n_known, "n_others": found.n_others, "bad": bad})
        return
    for event_id, why in found.refused:
        click.echo(f"Left out: {event_id}: {why}", err=True)
    click.echo(f"Added {found.n_stored} taps; {found.n_known} were known.")
    if found.n_others:
        click.echo(f"{found.n_others} were made for another account and are left out; --whoever imports them too.")


def _named_column(option: str) -> tuple[str, str]:
    name, equals, header = option.partition("=")
    if not equals or not header.strip():
        raise InvalidInput.of("--column", "“{given}” names no header; write --column outcome=Result.", given=option)
    return name.strip().casefold(), header


def _facts(imported: "Imported") -> dict[str, object]:
    from pupilage.services.import_trials import problems_of

    return {
        "encoding": imported.encoding,
        "separator": imported.separator,
        "n_rows": imported.n_rows,
        "n_added": imported.n_added,
        "n_known": imported.n_known,
        "n_sessions": imported.n_sessions,
        "bad": [{"where": p.where, "problem": str(p.sentence)} for p in problems_of(imported.bad)],
        "notes": [{"row": row, "note": str(note)} for row, note in imported.notes],
    }


def _print(imported: "Imported") -> None:
    from pupilage.services.import_trials import problems_of

    click.echo(f"Read {imported.n_rows} rows ({imported.encoding}, separated by {imported.separator}).")
    for problem in problems_of(imported.bad):
        click.echo(f"Left out: {problem}", err=True)
    for row, note in imported.notes:
        click.echo(f"row {row}: {note}")
    click.echo(f"Added {imported.n_added} trials in {imported.n_sessions} sessions.")
    if imported.n_known:
        click.echo(f"{imported.n_known} rows had been imported before, and were left as they are.")
