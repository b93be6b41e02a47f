"""`pupilage forecast`: the chance of every goal at the hand-over, as planned, without more work, and with more."""

from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import describe_head, find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.words import percent

if TYPE_CHECKING:
    from pupilage.core.planning.standing import Standing
    from pupilage.core.training.posterior.retention import Retention


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--behaviour", help="One goal only, with what would be left of it without practice.", metavar="KEY")
@json_option
@click.pass_obj
def forecast(choice: Choice, programme_id: UUID | None, behaviour: str | None, as_json: bool) -> None:
    """Say how likely each goal is to be met at the hand-over.

    As planned, without any more work, and with one session a day more. The test is 8 of 10, cold: even a pup that
    meets nine in ten passes it 93 times in 100.
    """
    actor = act(choice)
    from pupilage.services.read_forecasts import read_forecasts

    at = now()
    page = read_forecasts(actor, find_programme_id(actor, programme_id, now=at), behaviour=behaviour, now=at)
    if as_json:
        goals = [_facts(standing, page.retention.get(standing.behaviour.key)) for standing in page.standings]
        print_json({"programme": page.head, "goals": goals})
        return
    click.echo(describe_head(page.head))
    rows = [_row(standing) for standing in page.standings]
    print_table(("behaviour", "goal", "as planned", "slow … quick", "no more work", "one a day more"), rows)
    for standing in page.standings:
        click.echo(f"{standing.behaviour.key}: {standing.forecast.reason}")
        if standing.fall is not None:
            click.echo(f"  {standing.fall}")
        if behaviour is not None and standing.behaviour.key in page.retention:
            _print_retention(page.retention[standing.behaviour.key])


def _facts(standing: "Standing", retention: "Retention | None") -> dict[str, Any]:
    forecast = standing.forecast
    return {
        "behaviour": standing.behaviour.key,
        "target": standing.target.key,
        "step": standing.step.key,
        "steps_to_go": forecast.steps_to_go,
        "sessions_left": standing.sessions_left,
        "p_ready": forecast.p,
        "p_ready_low": forecast.low,
        "p_ready_high": forecast.high,
        "p_without_work": forecast.without_work,
        "p_one_more_a_day": forecast.one_more_a_day,
        "ceiling": forecast.ceiling,
        "due_in_days": standing.due_in_days,
        "reason": forecast.reason,
        "without_practice": retention,
    }


def _row(standing: "Standing") -> tuple[str, ...]:
    from pupilage.reports.formatting import show_chance

    forecast = standing.forecast
    spread = "" if forecast.p is None else f"{show_chance(forecast.low)} … {show_chance(forecast.high)}"
    return (
        standing.behaviour.key,
        standing.target.key,
        show_chance(forecast.p),
        spread,
        show_chance(forecast.without_work),
        show_chance(forecast.one_more_a_day),
    )


def _print_retention(retention: "Retention") -> None:
    click.echo("Chance of a cold first try at the step in practice, without practice:")
    rows = [
        (str(days), percent(p), f"{percent(low)} … {percent(high)}")
        for days, p, low, high in zip(retention.days, retention.p, retention.low, retention.high, strict=True)
    ]
    print_table(("days", "chance", "90 % interval"), rows)
