"""`pupilage day plan`: today's timetable, made anew from now or from a time that is given."""

from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, StorageTrouble

if TYPE_CHECKING:
    from pupilage.services.read_day_plan import StoredPlan


@click.group()
def day() -> None:
    """A day's timetable."""


@day.command()
@click.option("--from", "from_", help="Plan from this time of day on.  [default: now]", metavar="HH:MM")
@click.option("--day", "day_", help="Another day.  [default: today]", metavar="DATE")
@click.option("--ics", help="Write it as a calendar's file too.", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--programme", "programme_id", type=click.UUID, help="Another stay's.", metavar="ID")
@json_option
@click.pass_obj
def plan(
    choice: Choice, from_: str | None, day_: str | None, ics: Path | None, programme_id: UUID | None, as_json: bool
) -> None:
    """Make a day's timetable and show it. What is over or ticked off stays as it is.

    Where no plan can be made the last good one stays, and what clashes is said.
    """
    wanted, since = _day(day_), _time(from_)
    actor = act(choice)
    from pupilage.services.make_day_plan import make_day_plan
    from pupilage.services.plan_programme import plan_if_due
    from pupilage.services.read_day_plan import timetable_day

    at = now()
    found = find_programme_id(actor, programme_id, now=at)
    planned = wanted or timetable_day(at, actor.zone)
    plan_if_due(actor, found, now=at)
    stored = make_day_plan(actor, found, planned, now=_instant(planned, since, actor) or at)
    if ics is not None:
        _write_file(actor, found, planned, ics)
    if as_json:
        print_json(_facts(stored))
    else:
        _print(stored, actor)
        if ics is not None:
            click.echo(f"Written as a calendar: {ics}")


def _day(given: str | None) -> date | None:
    if given is None:
        return None
    try:
        return date.fromisoformat(given)
    except ValueError as error:
        raise InvalidInput.of("--day", "“{given}” is no day; give one such as 2026-05-12.", given=given) from error


def _time(given: str | None) -> time | None:
    if given is None:
        return None
    try:
        return time.fromisoformat(given.zfill(5))
    except ValueError as error:
        raise InvalidInput.of("--from", "“{given}” is no time of day; give one such as 14:30.", given=given) from error


def _instant(planned: date, since: time | None, actor: Actor) -> datetime | None:
    return None if since is None else datetime.combine(planned, since, tzinfo=actor.zone).astimezone(UTC)


def _write_file(actor: Actor, programme_id: UUID, planned: date, ics: Path) -> None:
    from pupilage.services.read_calendar_feed import read_calendar_file

    content = read_calendar_file(actor, programme_id, planned)
    try:
        ics.write_bytes(content)
    except OSError as error:
        raise StorageTrouble(
            "{file} cannot be written ({reason}); give another place.", file=str(ics), reason=error.strerror or ""
        ) from error


def _facts(stored: "StoredPlan") -> dict[str, Any]:
    plan = stored.plan
    return {
        "day": plan.day,
        "version": stored.version,
        "status": plan.solution.status,
        "gap": plan.solution.gap,
        "seconds": plan.solution.seconds,
        "blocks": [one.block for one in stored.shown],
        "broken": plan.broken,
        "trouble": stored.trouble,
    }


def _print(stored: "StoredPlan", actor: Actor) -> None:
    from pupilage.reports.block_words import STATE_WORDS, block_notes, block_title
    from pupilage.reports.formatting import show_day, show_time
    from pupilage.storage.catalogue_files import load_catalogue

    plan, catalogue = stored.plan, load_catalogue()
    for sentence in stored.trouble:
        click.echo(f"No newer plan: {sentence}")
    solution = plan.solution
    click.echo(f"{show_day(plan.day)} ({solution.status}, gap {solution.gap:.1%}, {solution.seconds:.2f} s)")
    rows = [
        (
            f"{show_time(one.start, actor.zone)}-{show_time(one.end, actor.zone)}",
            block_title(one, catalogue),
            ", ".join(block_notes(one, catalogue)),
            "" if one.state.value == "planned" else str(STATE_WORDS[one.state]),
            str(one.reason or ""),
        )
        for one in (shown.block for shown in stored.shown)
    ]
    print_table(("time", "what", "", "", "why"), rows)
    for broken in plan.broken:
        click.echo(f"Not kept: {broken.reason}")
