"""`pupilage session show` and `session sheet`: a session's trials and what they say, and all of a stay's as CSV."""

from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, NotFound
from pupilage.core.words import percent

if TYPE_CHECKING:
    from pupilage.core.training.record.evidence import Trial
    from pupilage.services.read_session import SessionPage

LAST = "last"


@click.group()
def session() -> None:
    """Read a training session."""


@session.command()
@click.argument("session_id", metavar="ID|last")
@json_option
@click.pass_obj
def show(choice: Choice, session_id: str, as_json: bool) -> None:
    """Show the session with this ID, or the `last` one, with its trials and corrections."""
    wanted = None if session_id == LAST else _id_of(session_id)
    actor = act(choice)
    from pupilage.services.read_session import read_session

    page = read_session(actor, wanted or _last_id(actor), now=now())
    if as_json:
        print_json(_facts(page))
    else:
        _print(page, actor)


@session.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, allow_dash=True), metavar="FILE.csv")
@click.option("--programme", type=click.UUID, help="The programme.  [default: the one that runs]", metavar="ID")
@click.pass_obj
def sheet(choice: Choice, file: Path, programme: UUID | None) -> None:
    """Write every try of a stay to FILE.csv (`-` for the standard output), a row each, with place and handler.

    `pupilage import trials` reads the file back. Nothing is overwritten.
    """
    actor = act(choice)
    from pupilage.services.export_trials import export_trials
    from pupilage.storage.files import whole_file

    content = export_trials(actor, find_programme_id(actor, programme, now=now()))
    if str(file) == "-":
        click.echo(content, nl=False)
        return
    with whole_file(file) as unfinished:
        unfinished.write_text(content, encoding="utf-8-sig", newline="")
    click.echo(f"Wrote {content.count(chr(10)) - 1} tries to {file}.")


def _id_of(word: str) -> UUID:
    try:
        return UUID(word)
    except ValueError as error:
        raise InvalidInput.of("ID", "“{given}” is no session's id; give one, or the word last.", given=word) from error


def _last_id(actor: Actor) -> UUID:
    from pupilage.services.find_last_session import find_last_session

    found = find_last_session(actor)
    if found is None:
        raise NotFound("There is no session yet; start one on the page of a pup.")
    return found


def _facts(page: "SessionPage") -> dict[str, Any]:
    low, high = page.belief.interval()
    return {
        "id": page.id,
        "programme": page.programme_id,
        "dog": page.dog,
        "record": page.record,
        "n_met": page.belief.n_met,
        "n_missed": page.belief.n_missed,
        "n_helped": page.belief.n_helped,
        "p_met": page.belief.mean,
        "p_met_low": low,
        "p_met_high": high,
        "reinforcers_per_min": page.per_min,
        "median_latency_s": page.median_latency_s,
        "log": page.log,
    }


def _print(page: "SessionPage", actor: Actor) -> None:
    from pupilage.reports.formatting import show_day, show_seconds, show_time

    record = page.record
    name = page.behaviour.name if page.behaviour else page.behaviour_key
    started = f"{show_day(record.started_at, actor.zone)} {show_time(record.started_at, actor.zone)}"
    click.echo(f"{page.dog}, {name} ({record.kind.value}), {started} ({page.id})")
    told = (("Where", record.place), ("Who worked with the dog", record.handler))
    for word, name in told:
        if name:
            click.echo(f"{word}: {name}")
    rows = [(show_time(t.at, actor.zone), t.step, t.outcome.value, *_times(t), str(t.pieces)) for t in record.trials]
    print_table(("time", "step", "outcome", "latency", "held", "pieces"), rows)
    low, high = page.belief.interval()
    counts = f"{page.belief.n_met} met, {page.belief.n_missed} missed, {page.belief.n_helped} helped"
    click.echo(f"{counts}: chance of the next one {percent(low)} to {percent(high)} (90 % interval)")
    click.echo(f"Latency, median: {show_seconds(page.median_latency_s)}")


def _times(trial: "Trial") -> tuple[str, str]:
    from pupilage.reports.formatting import show_seconds

    held = f"{show_seconds(trial.hold.held_s)} of {show_seconds(trial.hold.target_s)}" if trial.hold else "–"
    return show_seconds(trial.latency_s), held
