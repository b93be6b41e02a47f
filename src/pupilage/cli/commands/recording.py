"""`pupilage recording check | export`: what was heard in a recording, for programs and for other players."""

import sys
from pathlib import Path
from uuid import UUID

import click

from pupilage.cli.printing import json_option, print_table
from pupilage.cli.project import Choice, act

FORMATS = ("vtt", "csv", "json")


@click.group()
def recording() -> None:
    """Bring recordings in, read them, and list what was heard."""


@recording.command()
@click.argument("recording_id", type=click.UUID, metavar="ID")
@json_option
@click.pass_obj
def check(choice: Choice, recording_id: UUID, as_json: bool) -> None:
    """List what is left to check in a recording, the weightiest first, and what it amounts to so far."""
    actor = act(choice)
    from pupilage.services.export_recording import FileFormat, export_recording
    from pupilage.services.read_recording import read_recording

    if as_json:
        click.echo(export_recording(actor, recording_id, FileFormat.JSON).content.decode(), nl=False)
        return
    page = read_recording(actor, recording_id)
    events, left = {event.id: event for event in page.events}, page.checking
    for reason in page.quality:
        click.echo(str(reason))
    click.echo(
        f"To check: {len(left.to_check)}; sure, to confirm: {len(left.sure)}; "
        f"tries without what the pup did: {len(left.without_outcome)}"
    )
    hollow = [events[event_id] for event_id in left.to_check]
    print_table(
        ("at", "kind", "word", "confidence"),
        [(f"{e.start_s:.2f} s", e.kind.value, e.label, _confidence(e.confidence)) for e in hollow],
    )
    figures = page.figures
    click.echo(f"Tries: {_range(figures.n_trials)}; markers: {_range(figures.n_markers)}")


@recording.command()
@click.argument("recording_id", type=click.UUID, metavar="ID")
@click.option("--format", "file_format", type=click.Choice(FORMATS), default="vtt", show_default=True)
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="Write to this file.", metavar="FILE")
@click.pass_obj
def export(choice: Choice, recording_id: UUID, file_format: str, out: Path | None) -> None:
    """Write a recording's events: WebVTT holds the confirmed ones, CSV and JSON all with their state."""
    actor = act(choice)
    from pupilage.services.export_recording import FileFormat, export_recording

    found = export_recording(actor, recording_id, FileFormat(file_format))
    if out is None:
        sys.stdout.buffer.write(found.content)
    else:
        out.write_bytes(found.content)
        click.echo(f"{len(found.content)} bytes written to {out}")


def _confidence(confidence: float | None) -> str:
    return "–" if confidence is None else f"{confidence:.2f}"


def _range(found: object) -> str:
    value, low, high = (getattr(found, name) for name in ("value", "low", "high"))
    if value is None:
        return "not enough yet"
    return f"{value:g}" if low == high else f"{value:g} ({low:g} to {high:g})"
