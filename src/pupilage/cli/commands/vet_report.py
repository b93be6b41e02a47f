"""`pupilage vet-report`: the record of a period for a veterinarian or a behaviourist."""

import sys
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.handover import LANGUAGES, PAPERS, UNITS, write_file
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_json
from pupilage.cli.project import Choice, act
from pupilage.core.errors import InvalidInput

if TYPE_CHECKING:
    from pupilage.core.access import Actor
    from pupilage.core.vet_report.facts import Part, Period
    from pupilage.reports.pack.options import PackOptions
    from pupilage.reports.vet_report.contents import ReportContents

PARTS = ("vet", "incidents", "weight", "toilet", "alone", "exposures", "arranged", "notes", "people")
DAY = click.DateTime(formats=["%Y-%m-%d"])


@click.command("vet-report")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), required=False, metavar="[FILE.pdf]")
@click.option("--dog", "dog_id", type=click.UUID, help="Of another dog than the pup that is here.", metavar="ID")
@click.option("--from", "first", type=DAY, help="First day.  [default: the arrival]", metavar="DAY")
@click.option("--until", "last", type=DAY, help="Last day.  [default: today]", metavar="DAY")
@click.option("--leave-out", "left_out", type=click.Choice(PARTS), multiple=True, help="A part; may be repeated.")
@click.option("--language", type=click.Choice(LANGUAGES), help="Of the report.  [default: the workspace's]")
@click.option("--paper", type=click.Choice(PAPERS), default="a4", show_default=True)
@click.option("--unit", type=click.Choice(UNITS), help="Of weights.  [default: the workspace's]")
@json_option
@click.pass_obj
def vet_report(choice: Choice, file: Path | None, as_json: bool, **given: Any) -> None:
    """Write what was seen in a period as PDF/A, for a veterinarian or a behaviourist.

    Incidents and signs with dates, counts and rates, weight and food, toilet, time alone, what it met, what was
    arranged: no diagnosis and no causes. With --json its figures are printed; then FILE.pdf may be left out.
    """
    if file is None and not as_json:
        raise InvalidInput.of("FILE.pdf", "Say where the report goes, such as record.pdf; or ask for --json.")
    actor = act(choice)
    at = now()
    dog_id = given["dog_id"] or _dog_of_stay(actor, at)
    period = _period(actor, dog_id, given, at)
    left_out = _parts(given["left_out"])
    options = _options(actor, given)
    if file is None:
        from pupilage.reports.vet_report.contents import write_report
        from pupilage.services.gather_vet_report import gather_vet_report

        contents = write_report(gather_vet_report(actor, dog_id, period, left_out=left_out, now=at), options)
    else:
        contents = _make(actor, dog_id, period, options, left_out=left_out, file=file, at=at)
    if as_json:
        print_json(_facts(period, left_out, contents))
    elif file is not None:
        click.echo(f"{file}: {len(contents.figures)} figures, {period.first} to {period.last}.")


def _make(
    actor: "Actor",
    dog_id: UUID,
    period: "Period",
    options: "PackOptions",
    *,
    left_out: "frozenset[Part]",
    file: Path,
    at: datetime,
) -> "ReportContents":
    from pupilage.services.make_vet_report import N_PARTS, make_vet_report

    with click.progressbar(length=N_PARTS, label="Report", file=sys.stderr) as bar:
        made = make_vet_report(actor, dog_id, period, options, left_out=left_out, now=at, each=lambda: bar.update(1))
    write_file(file, made.pdf)
    return made.contents


def _facts(period: "Period", left_out: "frozenset[Part]", contents: "ReportContents") -> dict[str, Any]:
    return {
        "dog": contents.data["dog"],
        "first": period.first,
        "last": period.last,
        "left_out": sorted(part.value for part in left_out),
        "figures": contents.figures,
    }


def _dog_of_stay(actor: "Actor", at: datetime) -> UUID:
    from pupilage.services.read_programme import read_head

    return read_head(actor, find_programme_id(actor, None, now=at), now=at).dog_id


def _period(actor: "Actor", dog_id: UUID, given: dict[str, Any], at: datetime) -> "Period":
    from pupilage.core.vet_report.facts import Period
    from pupilage.services.gather_vet_report import usual_period

    usual = usual_period(actor, dog_id, now=at)

    def day(name: str, otherwise: date) -> date:
        chosen: datetime | None = given[name]
        return otherwise if chosen is None else chosen.date()

    return Period(day("first", usual.first), day("last", usual.last))


def _parts(given: tuple[str, ...]) -> "frozenset[Part]":
    from pupilage.core.vet_report.facts import Part

    return frozenset(Part(key) for key in given)


def _options(actor: "Actor", given: dict[str, Any]) -> "PackOptions":
    from pupilage.core.units import WeightUnit
    from pupilage.reports.pack.options import Language, PackOptions, Paper, usual_language

    return PackOptions(
        language=Language(given["language"]) if given["language"] else usual_language(actor.language),
        paper=Paper(given["paper"]),
        unit=WeightUnit(given["unit"]) if given["unit"] else actor.weight_unit,
    )
