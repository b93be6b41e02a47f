"""`pupilage toilet`: when the pup goes out next, how long it lasts, and how far it has come."""

from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.words import percent

if TYPE_CHECKING:
    from datetime import tzinfo

    from pupilage.core.care.toilet.reading import ToiletReading
    from pupilage.services.read_outings import OutingsPage


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@json_option
@click.pass_obj
def toilet(choice: Choice, programme_id: UUID | None, as_json: bool) -> None:
    """Say when the pup goes out next, and why.

    Then how long it may wait at the risk that the trainer takes, how far it has come week by week, what a dry spell
    does not prove, and how much of it all is still what is usual at the age.
    """
    actor = act(choice)
    from pupilage.services.read_outings import read_outings_of_programme

    at = now()
    page = read_outings_of_programme(actor, find_programme_id(actor, programme_id, now=at), now=at)
    if as_json:
        print_json(_facts(page))
    else:
        _print(page, actor.zone)


def _facts(page: "OutingsPage") -> dict[str, Any]:
    facts = {"dog": page.dog, "age_weeks": page.age_weeks, "why_not": page.why_not}
    return facts if page.reading is None else {**facts, **vars(page.reading)}


def _print(page: "OutingsPage", zone: "tzinfo") -> None:
    click.echo(f"{page.dog}, {page.age_weeks:.0f} weeks old")
    if page.reading is None:
        click.echo(str(page.why_not))
        return
    reading = page.reading
    click.echo(f"Next outing at {reading.outing.at.astimezone(zone):%H:%M}. {reading.outing.reason}")
    limits = reading.limits
    click.echo(
        f"At a risk of {percent(reading.risk)} between two outings: {limits.awake_min} min awake, "
        f"{limits.resting_min} min resting, {limits.night_min} min asleep at night."
    )
    _print_progress(reading)
    shares = ", ".join(f"{need.value} {percent(share)}" for need, share in reading.prior_share.items())
    click.echo(f"Still what is usual at the age: {shares} ({reading.n_outings} outings read).")
    if reading.n_later:
        click.echo(f"Entries of the future, left out: {reading.n_later}.")


def _print_progress(reading: "ToiletReading") -> None:
    progress = reading.progress
    click.echo(str(progress.dry))
    click.echo(str(progress.supervision))
    if progress.outdoors is not None:
        share, low, high = progress.outdoors
        click.echo(
            f"Outdoors: {percent(share)} of what is written down (95 % interval {percent(low)} to {percent(high)})."
        )
    if progress.weeks:
        headers = ("week from", "outdoors", "empty trips", "indoors", "safe awake", "resting", "at night")
        rows = [
            (
                week.from_day.isoformat(),
                str(week.n_outdoors),
                str(week.n_empty),
                str(week.n_accidents),
                *(f"{minutes:.0f} min" for minutes in (week.awake_min, week.resting_min, week.night_min)),
            )
            for week in progress.weeks
        ]
        print_table(headers, rows)
