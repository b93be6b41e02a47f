"""`pupilage families`: who was handed over when, what was kept beside the forecast, and who needs a call."""

from typing import TYPE_CHECKING, Any

import click

from pupilage.cli.clock import now
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act

if TYPE_CHECKING:
    from pupilage.services.read_after_handover import FamilyToCall, KeptLine

STATES = {"coming": "to come", "due": "due now", "overdue": "overdue", "partly": "told in part"}


@click.command()
@json_option
@click.pass_obj
def families(choice: Choice, as_json: bool) -> None:
    """Say who was handed over in the last ten weeks, what was kept beside the forecast, and who needs a call and why.

    Those who need a call come first. The forecast is of a first try without practice since the hand-over.
    """
    actor = act(choice)
    from pupilage.services.read_after_handover import list_families_to_call

    found = list_families_to_call(actor, now=now())
    if as_json:
        print_json([_facts(one) for one in found])
        return
    if not found:
        click.echo("No pup was handed over in the last ten weeks.")
    for one in found:
        _print(one)


def _facts(one: "FamilyToCall") -> dict[str, Any]:
    kept = [{"behaviour": line.behaviour.key, "name": line.behaviour.name, **plain(line.kept)} for line in one.kept]
    return {
        **{key: value for key, value in plain(one).items() if key != "kept"},
        "needs_a_call": bool(one.whys),
        "kept": kept,
        "total": one.total,
    }


def _print(one: "FamilyToCall") -> None:
    from pupilage.core.words import day_in_words
    from pupilage.services.read_catalogue import read_catalogue

    catalogue = read_catalogue()
    click.echo(f"{one.dog}{f', with {one.family}' if one.family else ''}: there since {day_in_words(one.handover_on)}, "
               f"{one.n_told} entries of theirs.")  # fmt: skip
    for why in one.whys:
        known = catalogue.find_behaviour(why.subject) or catalogue.find_unwanted(why.subject)
        click.echo(f"  Call: {f'{known.name}: ' if known else ''}{why.words}")
    if not one.whys:
        click.echo("  No reason to call.")
    coming = next((follow_up for follow_up in one.follow_ups if follow_up.state != "reported"), None)
    if coming is not None:
        click.echo(f"  Next follow-up: week {coming.week}, {day_in_words(coming.due_on)}, {STATES[coming.state]}.")
    if one.kept:
        print_table(("word", "forecast today", "worked", "expected", "chance of as few"), map(_row, one.kept))


def _row(line: "KeptLine") -> tuple[str, ...]:
    from pupilage.core.handover.calls import LEAST_TOLD
    from pupilage.core.words import percent

    one = line.kept
    enough = one.n >= LEAST_TOLD and one.p_as_few is not None
    return (
        line.behaviour.name,
        f"{percent(one.p)} ({percent(one.low)} to {percent(one.high)})",
        f"{one.n_met} of {one.n}" if one.n else "nothing told",
        f"{one.expected:.1f}" if one.n else "",
        percent(one.p_as_few or 0.0) if enough else "too few to say" if one.n else "",
    )
