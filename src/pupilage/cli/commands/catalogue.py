"""`pupilage catalogue`: what can be taught, and what is to be prevented."""

from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.core.errors import NotFound

if TYPE_CHECKING:
    from pupilage.core.catalogue.behaviour import Behaviour, Catalogue, Criterion, UnwantedBehaviour


@click.command()
@click.argument("key", required=False)
@json_option
def catalogue(key: str | None, as_json: bool) -> None:
    """List what can be taught and what is to be prevented, or show the entry with this KEY."""
    from pupilage.storage.catalogue_files import load_catalogue

    loaded = load_catalogue()
    entry = _find(loaded, key) if key else None
    if as_json:
        print_json(entry or loaded)
    elif entry is None:
        _print_all(loaded)
    else:
        _print_entry(entry)


def _find(loaded: "Catalogue", key: str) -> "Behaviour | UnwantedBehaviour":
    entry = loaded.find_behaviour(key) or loaded.find_unwanted(key)
    if entry is None:
        raise NotFound("“{key}” is not in the catalogue; `pupilage catalogue` lists what is.", key=key)
    return entry


def _print_all(loaded: "Catalogue") -> None:
    rows = [
        (b.key, b.name, str(len(b.steps)), b.scoring.value, str(b.min_age_weeks)) for b in loaded.behaviours.values()
    ]
    print_table(("to teach", "name", "steps", "scored as", "from week"), rows)
    print_table(("to prevent", "name"), [(u.key, u.name) for u in loaded.unwanted.values()])


def _print_entry(entry: "Behaviour | UnwantedBehaviour") -> None:
    click.echo(f"{entry.name}\n{entry.definition}\n")
    steps = getattr(entry, "steps", ())
    if steps:
        rows = [(str(n), s.key, s.summary, _asked(s.criterion)) for n, s in enumerate(steps, 1)]
        print_table(("", "step", "summary", "criterion"), rows)
        for outcome in ("met", "missed", "helped", "void"):
            click.echo(f"{outcome}: {getattr(entry.outcomes, outcome)}")
    else:
        for line in (*entry.arrange, entry.replacement):
            click.echo(f"- {line}")
    for line in entry.safety:
        click.echo(f"Caution: {line}")


def _asked(criterion: "Criterion") -> str:
    parts = [f"{criterion.duration_s:g} s"] if criterion.duration_s else []
    parts += [f"{criterion.distance_m:g} m"] if criterion.distance_m else []
    parts += [f"distraction {criterion.distraction}", criterion.place.value, f"prompt {criterion.prompt.value}"]
    parts += [] if criterion.latency_s is None else [f"within {criterion.latency_s:g} s"]
    return ", ".join(parts)
