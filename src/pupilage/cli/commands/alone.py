"""`pupilage alone`: the next absence, how long the pup stays calm, and how that has grown."""

import csv
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act

if TYPE_CHECKING:
    from pupilage.core.access import Actor
    from pupilage.services.read_alone import AlonePage


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--csv", "as_csv", is_flag=True, help="Write the absences as CSV instead.")
@click.option(
    "--from",
    "file",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="First bring in the absences of a CSV file with such columns.",
)
@json_option
@click.pass_obj
def alone(choice: Choice, programme_id: UUID | None, as_csv: bool, file: Path | None, as_json: bool) -> None:
    """Say how long the pup may be left next, and how long it stays calm.

    After signs of panic there is no next absence: ask a veterinarian, who may send you to a veterinary behaviourist.
    """
    actor = act(choice)
    from pupilage.services.read_alone import read_alone
    from pupilage.services.read_programme import read_head

    at = now()
    head = read_head(actor, find_programme_id(actor, programme_id, now=at), now=at)
    if file is not None:
        _bring_in(actor, head.dog_id, file)
    page = read_alone(actor, head.dog_id, now=at)
    if as_csv:
        _write_csv(page)
    elif as_json:
        print_json(_facts(page))
    else:
        _print(page)


def _bring_in(actor: "Actor", dog_id: UUID, file: Path) -> None:
    """Write what a file holds, and say so on the error stream: the other one may be JSON."""
    from pupilage.services.import_absences import import_absences

    found = import_absences(actor, dog_id, file.read_bytes(), now=now())
    click.echo(f"{found.n_rows} rows: {found.n_added} new, {found.n_known} known already.", err=True)


def _facts(page: "AlonePage") -> dict[str, Any]:
    curve = page.curve
    return {
        "dog": page.dog,
        "age_weeks": page.age_weeks,
        "panicked": page.panicked,
        "first": page.first,
        "proposed": page.proposed,
        "calm": page.growth.days[-1].calm if page.growth.days else None,
        "curve": None
        if curve is None
        else {
            "seconds": curve.times.tolist(),
            "share": curve.share.tolist(),
            "low": curve.low.tolist(),
            "high": curve.high.tolist(),
            "n": curve.n,
            "n_signs": curve.n_happened,
        },
        "days": page.growth.days,
        "says": page.growth.says,
        "stuck": page.growth.is_stuck,
        "absences": page.absences,
        "not_watched": page.n_untold,
    }


def _print(page: "AlonePage") -> None:
    from pupilage.core.incidents.alone import span
    from pupilage.core.incidents.growth import STUCK, say_curve
    from pupilage.core.incidents.panic import MEANWHILE, WHOM

    first = page.proposed[0]
    click.echo(f"{page.dog}, {page.age_weeks:.0f} weeks old")
    click.echo(f"Next absence: {'none' if first.seconds is None else span(first.seconds)}. {first.reason}")
    if first.seconds is None:
        for sentence in (*WHOM, *MEANWHILE):
            click.echo(f"  {sentence}")
    else:
        click.echo(f"While it stays calm: {', '.join(span(one.seconds or 0.0) for one in page.proposed)}")
    for said in (*([page.first] if page.first else []), *page.growth.says, *([STUCK] if page.growth.is_stuck else [])):
        click.echo(str(said))
    if page.curve is not None:
        click.echo(str(say_curve(page.curve, page.waits)))
    print_table(
        ("day", "absences", "with a sign", "longest calm", "nine in ten calm", "90 %"),
        [
            (
                day.day.isoformat(),
                str(day.n),
                str(day.n_signs),
                "–" if day.longest_calm_s is None else span(day.longest_calm_s),
                span(day.calm.sure_s),
                f"{span(day.calm.low_s)} – {span(day.calm.high_s)}",
            )
            for day in page.growth.days
        ],
    )


def _write_csv(page: "AlonePage") -> None:
    from pupilage.core.sheets.absences import COLUMNS

    out = csv.writer(sys.stdout)
    out.writerow(COLUMNS)
    for one in reversed(page.absences):
        row = {
            **vars(one),
            "at": one.at.isoformat(),
            "signs": " ".join(sign.sign if sign.at_s is None else f"{sign.sign}@{sign.at_s:g}" for sign in one.signs),
            "had": " ".join(one.had),
            "state": " ".join(one.state),
        }
        out.writerow("" if row[name] is None else row[name] for name in COLUMNS)
