"""`pupilage backup`, `restore` and `export`: taking the records out, and bringing them back."""

import sys
from pathlib import Path

import click

from pupilage.cli.clock import now
from pupilage.cli.project import Choice, act, start_django

file_type = click.Path(path_type=Path, dir_okay=False, allow_dash=True)


@click.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.pass_obj
def backup(choice: Choice, file: Path | None) -> None:
    """Copy the database to FILE, while it is in use.

    Without FILE, to a dated file in the folder `backups` of the data folder. Nothing is overwritten.
    """
    start_django(demo=choice.demo)
    from pupilage.services.back_up import back_up

    made = back_up(file, now=now())
    click.echo(f"Backed up to {made.file} ({made.n_bytes / 1024:.0f} KiB).")


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.pass_obj
def restore(choice: Choice, file: Path) -> None:
    """Put the backup FILE in the place of the database.

    The present database is kept under a dated name beside it. Stop the server first.
    """
    start_django(demo=choice.demo)
    from pupilage.services import restore as service

    done = service.restore(file, now=now())
    click.echo(f"{done.file} now holds what {file} held.")
    if done.set_aside:
        click.echo(f"The former database was kept as {done.set_aside}.")


@click.command()
@click.argument("file", type=file_type)
@click.pass_obj
def export(choice: Choice, file: Path) -> None:
    """Write everything of the workspace to FILE as JSON (`-` for the standard output).

    Nothing is overwritten.
    """
    actor = act(choice)
    from pupilage.services.export_workspace import export_workspace
    from pupilage.storage.files import whole_file

    if str(file) == "-":
        export_workspace(actor, sys.stdout, now=now())
        return
    with whole_file(file) as unfinished, unfinished.open("w", encoding="utf-8") as out:
        exported = export_workspace(actor, out, now=now())
    click.echo(f"Exported {sum(exported.n_rows.values())} rows to {file}.")
