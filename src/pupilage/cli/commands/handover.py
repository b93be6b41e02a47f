"""`pupilage handover`: the pack for the family, and `pupilage explain`: where its figures come from."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.errors import InvalidInput

if TYPE_CHECKING:
    from pupilage.core.access import Actor
    from pupilage.reports.pack.options import PackOptions
    from pupilage.services.explain_figure import Explained
    from pupilage.services.make_pack import MadePack

LANGUAGES, PAPERS, UNITS = ("en", "de"), ("a4", "letter"), ("kg", "lb")


@click.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="PACK.pdf")
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--language", type=click.Choice(LANGUAGES), help="Of the pack.  [default: the workspace's]")
@click.option("--paper", type=click.Choice(PAPERS), default="a4", show_default=True)
@click.option("--large", is_flag=True, help="Large print.")
@click.option("--unit", type=click.Choice(UNITS), help="Of weights.  [default: the workspace's]")
@click.pass_obj
def handover(choice: Choice, file: Path, programme_id: UUID | None, **options: Any) -> None:
    """Write the hand-over pack of a stay as PDF/A: a page for the fridge, a section for each behaviour, eight weeks.

    An earlier file of that name is replaced once the new one is whole.
    """
    actor = act(choice)
    from pupilage.services.make_pack import N_PARTS, make_pack

    at = now()
    found = find_programme_id(actor, programme_id, now=at)
    with click.progressbar(length=N_PARTS, label="Pack", file=sys.stderr) as bar:
        made = make_pack(actor, found, _options(actor, options), now=at, each=lambda: bar.update(1))
    write_file(file, made.pdf)
    n = len(made.contents.figures.found)
    _say_grade(made)
    click.echo(f"{file}: {len(made.pdf) / 1000:.0f} kB, {n} figures; `pupilage explain NAME` traces each.")


def _say_grade(made: "MadePack") -> None:
    from pupilage.core.handover.reading_grade import grade
    from pupilage.reports.pack.contents import read_through

    found = grade(read_through(made.contents))
    if found is not None:
        years = f", {found.school_years:.1f} school years" if made.contents.data["language"] == "en" else ""
        click.echo(f"How hard it is to read: LIX {found.lix:.0f}{years}, {found.n_words} words.")


def write_file(file: Path, pdf: bytes) -> None:
    """Write a PDF beside the earlier one and put it in its place. Raises InvalidInput where that cannot be."""
    beside = file.with_name(file.name + ".part")
    try:
        beside.write_bytes(pdf)
        beside.replace(file)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise InvalidInput.of(
            "FILE.pdf", "{file} cannot be written: {reason}.", file=str(file), reason=error.strerror or ""
        ) from error


def _options(actor: "Actor", given: dict[str, Any]) -> "PackOptions":
    from pupilage.core.units import WeightUnit
    from pupilage.reports.pack.options import Language, PackOptions, Paper, usual_language

    return PackOptions(
        language=Language(given["language"]) if given.get("language") else usual_language(actor.language),
        paper=Paper(given.get("paper") or "a4"),
        large=bool(given.get("large")),
        unit=WeightUnit(given["unit"]) if given.get("unit") else actor.weight_unit,
    )


@click.command()
@click.argument("figure", required=False)
@click.option("--stay", "programme_id", type=click.UUID, help="Of another stay than the one that runs.", metavar="ID")
@json_option
@click.pass_obj
def explain(choice: Choice, figure: str | None, programme_id: UUID | None, as_json: bool) -> None:
    """Say where a figure of the hand-over pack, or of progress, comes from; without FIGURE list them all.

    FIGURE is its name, such as week3.outing or progress.recall.today, or the small number beside it in a pack made now.
    """
    actor = act(choice)
    from pupilage.services.explain_figure import explain_figure, list_figures, list_progress_figures

    at = now()
    found, options = find_programme_id(actor, programme_id, now=at), _options(actor, {})
    if figure is None:
        every = [*list_figures(actor, found, options, now=at), *list_progress_figures(actor, found, now=at)]
        if as_json:
            print_json([{"name": one.key, "value": one.value, "shown": one.shown, "query": one.query} for one in every])
        else:
            print_table(("name", "shown", "query"), [(one.key, one.shown, one.query) for one in every])
        return
    told = explain_figure(actor, found, figure, options, now=at)
    if as_json:
        print_json(_facts(told))
    else:
        _print(told)


def _facts(told: "Explained") -> dict[str, Any]:
    one = told.figure
    return {
        "name": one.key,
        "number": one.number,
        "value": one.value,
        "shown": one.shown,
        "function": one.source.function,
        "arguments": dict(one.source.arguments),
        "from": one.source.words,
        "printed": None if told.printed is None else {"at": told.printed[0].isoformat(), "shown": told.printed[1]},
    }


def _print(told: "Explained") -> None:
    one = told.figure
    click.echo(f"{one.key}: {one.shown}")
    click.echo(f"  from: {one.source.words}")
    click.echo(f"  query: {one.query}")
    click.echo(f"  value: {one.value}")
    if told.printed is not None:
        at, shown = told.printed
        click.echo(f"  last printed: {shown}, in the pack of {at:%Y-%m-%d %H:%M} UTC")
