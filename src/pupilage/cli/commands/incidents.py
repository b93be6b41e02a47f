"""`pupilage incidents`: how often, since when, what they have in common, what they gain; in from a sheet and out."""

from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.incident_plans import show_plans
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.errors import InvalidInput

if TYPE_CHECKING:
    from datetime import datetime

    from pupilage.core.access import Actor
    from pupilage.core.incidents.answers import Answers
    from pupilage.core.incidents.two_dogs import TwoDogs
    from pupilage.services.read_incidents import IncidentsPage


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--behaviour", default="", metavar="KEY", help="An unwanted behaviour; the commonest when left out.")
@click.option("--plan", is_flag=True, help="Say what became of the plan against it instead; of all plans, without KEY.")
@click.option("--csv", "as_csv", is_flag=True, help="Write the behaviour's record as CSV instead.")
@click.option(
    "--from", "sheet", type=click.Path(path_type=Path), metavar="FILE", help="Bring in incidents from a CSV file."
)
@json_option
@click.pass_obj
def incidents(
    choice: Choice,
    programme_id: UUID | None,
    behaviour: str,
    plan: bool,
    as_csv: bool,
    sheet: Path | None,
    as_json: bool,
) -> None:
    """Say what the record tells of an unwanted behaviour of the pup that is here.

    A file for --from has the columns that --csv writes: at and behaviour are needed, an empty cell is what the page
    assumes. One bad row keeps the whole file out, with all that is wrong said; importing twice adds nothing.
    """
    if sum((plan, as_csv, sheet is not None)) > 1:
        raise InvalidInput.of("", "Give one of --plan, --csv and --from at a time.")
    content = None if sheet is None else sheet.read_bytes()
    actor = act(choice)
    from pupilage.services.read_incidents import read_incidents
    from pupilage.services.read_programme import read_head

    at = now()
    head = read_head(actor, find_programme_id(actor, programme_id, now=at), now=at)
    if content is not None:
        _bring_in(actor, head.dog_id, content, at=at, as_json=as_json)
    elif plan:
        show_plans(actor, head.dog_id, behaviour, at=at, as_json=as_json)
    else:
        page = read_incidents(actor, head.dog_id, behaviour=behaviour, now=at)
        _show(page, as_csv=as_csv, as_json=as_json)


def _show(page: "IncidentsPage", *, as_csv: bool, as_json: bool) -> None:
    if as_csv:
        from pupilage.reports.incident_sheet import write_incident_sheet

        click.echo(write_incident_sheet(reversed(page.incidents)), nl=False)
    elif as_json:
        facts = {"dog": page.dog, "counts": page.counts, "behaviour": page.chosen, "answers": _facts(page.answers)}
        print_json(facts if page.two_dogs is None else {**facts, "two_dogs": page.two_dogs})
    else:
        _print(page)


def _bring_in(actor: "Actor", dog_id: UUID, content: bytes, *, at: "datetime", as_json: bool) -> None:
    from pupilage.services.import_incidents import import_incidents

    done = import_incidents(actor, dog_id, content, now=at)
    if as_json:
        notes = [{"row": row, "note": str(note)} for row, note in done.notes]
        print_json({**plain(done), "notes": notes})
        return
    click.echo(f"Read {done.n_rows} rows ({done.encoding}, separated by {done.separator}).")
    for row, note in done.notes:
        click.echo(f"row {row}: {note}")
    click.echo(f"Incidents added: {done.n_added}.")
    if done.n_known:
        click.echo(f"Rows stored already, and left as they are: {done.n_known}.")


def _facts(answers: "Answers | None") -> object:
    if answers is None:
        return None
    suspects = [{**plain(one), "is_called": one.is_called} for one in answers.suspects]
    change = answers.change
    weighed = None if change is None else {"p_change": change.p_change, "log_bayes_factor": change.log_bayes_factor}
    bursts = None
    if answers.bursts is not None:
        bursts = {**plain(answers.bursts), "is_called": answers.bursts.is_called, "says": str(answers.bursts.says)}
    return {**plain(answers), "suspects": suspects, "change": weighed, "bursts": bursts}


def _print(page: "IncidentsPage") -> None:
    from pupilage.reports.formatting import show_times

    answers = page.answers
    if answers is None:
        click.echo(f"{page.dog}: no incident written down yet.")
        return
    print_table(("unwanted behaviour", "written down"), [(key, str(n)) for key, n in page.counts.items()])
    click.echo(f"{page.chosen}:")
    curves = [curve for curve in (answers.times, *answers.since.values()) if curve.standout]
    bursts = [] if answers.bursts is None else [answers.bursts.says]
    found = [answers.says_cause, answers.says_change, *(curve.says for curve in curves), *bursts]
    for sentence in (*answers.says, *filter(None, found), *answers.next):
        click.echo(f"  {sentence}")
    if page.two_dogs is not None:
        _print_two_dogs(page.two_dogs)
    if answers.suspects:
        print_table(
            ("before or around it", "incidents", "times as likely", "95 %", "p, adjusted"),
            [
                (
                    one.key,
                    f"{one.n} of {one.n_all}",
                    show_times(one.shrunk.value),
                    f"{show_times(one.shrunk.low)} – {show_times(one.shrunk.high)}",
                    f"{one.p_adjusted:.3f}",
                )
                for one in answers.suspects
            ],
        )


def _print_two_dogs(answers: "TwoDogs") -> None:
    from pupilage.reports.formatting import show_chance

    click.echo("The two dogs:")
    for sentence in (*answers.urgent, *answers.says, *answers.next):
        click.echo(f"  {sentence}")
    groups = (
        ("over what", answers.resources),
        ("started by", answers.started),
        ("apart", answers.apart),
        ("resident dog", answers.answered),
        ("ended by", answers.ended),
    )
    rows = [
        (group, one.key, f"{one.n} of {one.of}", f"{show_chance(one.low)} – {show_chance(one.high)}")
        for group, shares in groups
        for one in shares
    ]
    if rows:
        print_table(("", "seen", "times", "share, 95 %"), rows)
    for sentence in answers.to_do:
        click.echo(f"  {sentence}")
