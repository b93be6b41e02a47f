"""The plans of `pupilage incidents --plan`: before and with a plan, and what else it may have been."""

from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.printing import plain, print_json, print_table

if TYPE_CHECKING:
    from datetime import datetime

    from pupilage.core.access import Actor
    from pupilage.core.incidents.phases import PhaseDays
    from pupilage.core.incidents.plan_answers import PlanAnswers


def show_plans(actor: "Actor", dog_id: UUID, behaviour: str, *, at: "datetime", as_json: bool) -> None:
    """Print what became of one behaviour's plan, or of every plan."""
    from pupilage.services.read_change_plan import read_change_plan, read_change_plans

    plans = (
        {behaviour: read_change_plan(actor, dog_id, behaviour, now=at).answers}
        if behaviour
        else read_change_plans(actor, dog_id, now=at)
    )
    if as_json:
        print_json({key: _facts(answers) for key, answers in plans.items()})
    elif not plans:
        click.echo("No plan against an unwanted behaviour yet; make one on the page of the incidents.")
    else:
        for key, answers in plans.items():
            _print(key, answers)


def _facts(answers: "PlanAnswers") -> dict[str, Any]:
    """Return the answers without the days, which --csv has."""
    phases = [_phase_facts(one) for one in answers.phases]
    return {**plain(answers), "phases": phases, "newest": None if answers.newest is None else len(phases) - 1}


def _phase_facts(one: "PhaseDays") -> dict[str, Any]:
    return {
        "phase": plain(one.phase),
        "n_days": len(one.days),
        "n": sum(day.n for day in one.days),
        "hours": sum(day.hours for day in one.days),
        "an_hour": plain(one.rate),
    }


def _print(key: str, answers: "PlanAnswers") -> None:
    click.echo(f"{key}:")
    for said in answers.says:
        click.echo(f"  {said}")
    print_table(
        ("from", "what", "days", "incidents", "in ten free hours", "95 %"), [_row(one) for one in answers.phases]
    )
    if answers.n_outside:
        click.echo(f"  {answers.n_outside} incidents lie in hours that no log covers, and are in no rate.")
    for said in answers.effect if answers.newest is not None else ():
        click.echo(f"  {said}")


def _row(one: "PhaseDays") -> tuple[str, ...]:
    what = "before any plan" if one.phase is None else one.phase.kind.value
    n = str(sum(day.n for day in one.days))
    rate = ("–", "–")
    if one.rate is not None:
        rate = (f"{10 * one.rate.value:.1f}", f"{10 * one.rate.low:.1f} – {10 * one.rate.high:.1f}")
    return ("" if one.phase is None else one.phase.starts_on.isoformat(), what, str(len(one.days)), n, *rate)
