"""`pupilage incidents`: how often, since when, what they have in common, what they gain."""

import csv
import sys
from typing import TYPE_CHECKING
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act

if TYPE_CHECKING:
    from pupilage.core.incidents.answers import Answers
    from pupilage.services.read_incidents import IncidentsPage

COLUMNS = (
    "at", "behaviour", "left_it", "before", "gained", "supervised", "slip", "teeth", "place", "antecedent",
    "consequence", "people_did", "note",
)  # fmt: skip


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--behaviour", default="", metavar="KEY", help="An unwanted behaviour; the commonest when left out.")
@click.option("--csv", "as_csv", is_flag=True, help="Write the behaviour's record as CSV instead.")
@json_option
@click.pass_obj
def incidents(choice: Choice, programme_id: UUID | None, behaviour: str, as_csv: bool, as_json: bool) -> None:
    """Say what the record tells of an unwanted behaviour of the pup that is here."""
    actor = act(choice)
    from pupilage.services.read_incidents import read_incidents
    from pupilage.services.read_programme import read_head

    at = now()
    head = read_head(actor, find_programme_id(actor, programme_id, now=at), now=at)
    page = read_incidents(actor, head.dog_id, behaviour=behaviour, now=at)
    if as_csv:
        _write_csv(page)
    elif as_json:
        print_json({"dog": page.dog, "counts": page.counts, "behaviour": page.chosen, "answers": _facts(page.answers)})
    else:
        _print(page)


def _facts(answers: "Answers | None") -> object:
    if answers is None:
        return None
    suspects = [{**plain(one), "is_called": one.is_called} for one in answers.suspects]
    change = answers.change
    weighed = None if change is None else {"p_change": change.p_change, "log_bayes_factor": change.log_bayes_factor}
    return {**plain(answers), "suspects": suspects, "change": weighed}


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


def _write_csv(page: "IncidentsPage") -> None:
    out = csv.writer(sys.stdout)
    out.writerow(COLUMNS)
    for incident in reversed(page.incidents):
        row = {**vars(incident), "at": incident.at.isoformat(), "before": " ".join(incident.before)}
        out.writerow("" if row[name] is None else row[name] for name in COLUMNS)
