"""`pupilage programme`: goals, where each stands, the chance of being ready, and the plan until the hand-over."""

from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme_plan import plan
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.access import Actor
from pupilage.core.errors import NotFound

if TYPE_CHECKING:
    from pupilage.core.planning.standing import Standing
    from pupilage.core.training.posterior.belief import Belief
    from pupilage.core.training.posterior.reading import Reading
    from pupilage.services.read_programme import ProgrammeHead, ProgrammePage


@click.group()
def programme() -> None:
    """Read a programme, and plan it."""


programme.add_command(plan)


@programme.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@json_option
@click.pass_obj
def show(choice: Choice, programme_id: UUID | None, as_json: bool) -> None:
    """Show a programme's goals and forecasts: the one that runs, or the one with this ID."""
    actor = act(choice)
    from pupilage.services.read_programme import read_programme

    at = now()
    page = read_programme(actor, find_programme_id(actor, programme_id, now=at), now=at)
    if as_json:
        print_json(_facts(page))
    else:
        _print(page)


def find_programme_id(actor: Actor, programme_id: UUID | None, *, now: datetime) -> UUID:
    """Return the id that was given, else that of the programme that runs. Raises NotFound when there is none."""
    from pupilage.services.read_programme import find_current_id

    found = programme_id or find_current_id(actor, now=now)
    if found is None:
        raise NotFound("There is no programme yet; begin one on the first page that `pupilage serve` shows.")
    return found


def _facts(page: "ProgrammePage") -> dict[str, Any]:
    return {"programme": page.head, "goals": [_goal(s) for s in page.standings], "sessions": page.sessions}


def _goal(standing: "Standing") -> dict[str, Any]:
    return {
        "behaviour": standing.behaviour.key,
        "target": standing.target.key,
        "weight": standing.weight,
        "step": standing.step.key,
        "at_target": standing.at_target,
        "n_trials": standing.n_trials,
        "n_sessions": standing.n_sessions,
        "sessions_left": standing.sessions_left,
        "decision": standing.decision.action,
        "decision_enough": standing.decision.enough,
        "reason": standing.decision.reason,
        "belief": _belief(standing.decision.reading),
        "baseline": None if standing.baseline is None else _belief(standing.baseline),
        "p_ready": standing.forecast.p,
        "p_ready_low": standing.forecast.low,
        "p_ready_high": standing.forecast.high,
        "p_without_work": standing.forecast.without_work,
        "p_one_more_a_day": standing.forecast.one_more_a_day,
        "ceiling": standing.forecast.ceiling,
        "due_in_days": standing.due_in_days,
        "forecast_reason": standing.forecast.reason,
    }


def _belief(belief: "Belief | Reading") -> dict[str, Any]:
    low, high = belief.interval()
    counts = {"met": belief.n_met, "missed": belief.n_missed, "helped": belief.n_helped}
    return {**counts, "p_met": belief.mean, "p_met_low": low, "p_met_high": high}


def _print(page: "ProgrammePage") -> None:
    click.echo(describe_head(page.head))
    if not page.standings:
        click.echo("No goals yet.")
        return
    print_table(
        ("behaviour", "step", "goal", "trials", "next", "ready at hand-over"),
        [_goal_row(standing) for standing in page.standings],
    )


def describe_head(head: "ProgrammeHead") -> str:
    """Return a programme's frame in two lines."""
    family = f", then to {head.family}" if head.family else ""
    return (
        f"{head.dog}, {head.age_weeks:.0f} weeks old: {head.arrival_on} to {head.handover_on}{family}\n"
        f"Day {head.day_number} of {head.n_days}, {head.days_left} days left ({head.id})"
    )


def _goal_row(standing: "Standing") -> tuple[str, ...]:
    from pupilage.reports.formatting import show_chance

    place = (standing.behaviour.step_index(standing.step.key) or 0) + 1
    goal = (standing.behaviour.step_index(standing.target.key) or 0) + 1
    return (
        standing.behaviour.key,
        f"{place} {standing.step.key}",
        f"{goal} {standing.target.key}",
        str(standing.n_trials),
        standing.decision.action.value,
        show_chance(standing.forecast.p),
    )
