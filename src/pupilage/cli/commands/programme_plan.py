"""`pupilage programme plan`: which behaviour on which day until the hand-over."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.failing import EXIT_CODES
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput

if TYPE_CHECKING:
    from pupilage.core.planning.planned_session import PlannedSession
    from pupilage.core.planning.programme.plan import Clash, GoalPlan, PlanDay, ProgrammePlan, Relief
    from pupilage.core.planning.programme.what_if import WhatIf, Wish
    from pupilage.services.read_plan import KeptPlan

DAYS_SHOWN = 7


class DayParam(click.ParamType):
    """A calendar day, such as 2026-05-12."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"“{value}” is not a day; give one such as 2026-05-12.", param, ctx)


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option(
    "--handover", "handover_on", type=DayParam(), help="What if the hand-over were on this day?", metavar="DATE"
)
@click.option("--sessions-a-day", type=int, help="What if so many short sessions fitted a day?", metavar="N")
@click.option("--minutes-a-day", type=int, help="What if you had so many minutes a day? 0: not limited.", metavar="N")
@click.option(
    "--days-off", type=str, help="What if these were the days off? Dates with commas between.", metavar="DATES"
)
@click.option("--all-days", is_flag=True, help="Print every day until the hand-over, not only the next seven.")
@json_option
@click.pass_obj
def plan(
    choice: Choice,
    programme_id: UUID | None,
    handover_on: date | None,
    sessions_a_day: int | None,
    minutes_a_day: int | None,
    days_off: str | None,
    all_days: bool,
    as_json: bool,
) -> None:
    """Plan the days until the hand-over: the stay that runs, or the one with this ID.

    The plan is made from the record of this morning and kept; the Today page and the timetable read it. With one of
    the what-if options nothing is written: the plan as it is and as it would be are printed side by side.
    """
    actor = act(choice)
    from pupilage.cli.commands.programme import find_programme_id
    from pupilage.core.planning.programme.what_if import Wish

    at = now()
    found = find_programme_id(actor, programme_id, now=at)
    off = None if days_off is None else _days(days_off)
    wish = Wish(handover_on, sessions_a_day, off, minutes_a_day)
    if wish.is_empty:
        _make(actor, found, at, all_days=all_days, as_json=as_json)
    else:
        _compare(actor, found, wish, at, as_json=as_json)


def _days(given: str) -> tuple[date, ...]:
    try:
        return tuple(date.fromisoformat(part.strip()) for part in given.split(",") if part.strip())
    except ValueError as error:
        raise InvalidInput.of(
            "days_off", "“{given}” are no days; give dates such as 2026-05-12,2026-05-17.", given=given
        ) from error


def _make(actor: Actor, programme_id: UUID, at: datetime, *, all_days: bool, as_json: bool) -> None:
    from pupilage.services.plan_programme import plan_programme

    kept = plan_programme(actor, programme_id, now=at)
    if as_json:
        print_json({"made_at": kept.made_at, "trouble": kept.trouble, "plan": kept.plan})
    else:
        _print_kept(kept, all_days=all_days)
    if kept.trouble is not None:
        click.get_current_context().exit(EXIT_CODES["conflict"])


def _print_kept(kept: "KeptPlan", *, all_days: bool) -> None:
    _print_trouble(kept)
    if kept.plan is not None:
        for line in plan_lines(kept.plan, all_days=all_days):
            click.echo(line)
        _print_goals(kept.plan)


def _print_trouble(kept: "KeptPlan") -> None:
    if kept.trouble is None:
        return
    click.echo(_clash_line(kept.trouble))
    if kept.made_at is not None:
        click.echo(f"The last good plan, made on {kept.made_at.date()}, stays:")


def plan_lines(plan: "ProgrammePlan", *, all_days: bool) -> Iterator[str]:
    """Return a plan's days, a line each, and how good the plan is."""
    days = plan.days if all_days else plan.days[:DAYS_SHOWN]
    for day in days:
        yield f"{day.day:%a} {day.day}  {_day_words(day)}"
    if len(days) < len(plan.days):
        yield f"… and {len(plan.days) - len(days)} days more (--all-days)."
    proof, weight = plan.proof, sum(goal.weight for goal in plan.goals)
    how = "proven the best" if proof.status == "optimal" else f"within {100 * proof.gap:.1f} % of the best, proven"
    yield f"Weight of goals expected to be met: {plan.expected_weight:.1f} of {weight}; {how}."


def _day_words(day: "PlanDay") -> str:
    if not day.sessions:
        return f"no session ({day.rule.value})"
    return ", ".join(map(_session_words, day.sessions))


def _session_words(session: "PlannedSession") -> str:
    note = {"teach": "", "upkeep": " (upkeep)", "probe": " (cold first try, the family's words)"}
    if session.purpose == "elsewhere":
        return f"{session.behaviour} ({'new person' if session.who else 'new place'})"
    return session.behaviour + note[session.purpose.value]


def _print_goals(plan: "ProgrammePlan") -> None:
    print_table(
        ("goal", "weight", "sessions", "without work", "with the plan", "one a day more", "two every day", "from"),
        [_goal_row(goal) for goal in plan.goals],
    )
    for clash in plan.clashes:
        click.echo(_clash_line(clash))
    for relief in plan.reliefs[:1]:
        click.echo(_relief_line(relief))


def _goal_row(goal: "GoalPlan") -> tuple[str, ...]:
    from pupilage.core.planning.programme.rules import OUT_OF_REACH
    from pupilage.reports.formatting import show_chance

    source = "own record" if goal.is_own else "what is usual"
    reach = " out of reach" if goal.p_most < OUT_OF_REACH else ""
    chances = [show_chance(p) for p in (goal.p_without, goal.p_with, goal.p_one_more)]
    return (goal.behaviour, str(goal.weight), str(goal.n_sessions), *chances, show_chance(goal.p_most) + reach, source)


def _clash_line(clash: "Clash") -> str:
    return " ".join(map(str, (clash.what, *clash.rules, *clash.ways)))


def _relief_line(relief: "Relief") -> str:
    from pupilage.reports.formatting import show_chance

    what = f"Drop {relief.behaviour}" if relief.step is None else f"Soften {relief.behaviour} to “{relief.step}”"
    own = "" if relief.step is None else f" It would be met with {show_chance(relief.p)}."
    moved = [f"{c.behaviour} {show_chance(c.p_before)} → {show_chance(c.p_after)}" for c in relief.changes]
    others = f" The others: {', '.join(moved)}." if moved else ""
    return f"First to give way: {what}{_freed_words(relief.n_freed)}.{own}{others}"


def _freed_words(n_freed: int) -> str:
    if n_freed == 0:
        return ""
    return f", which frees {n_freed} sessions" if n_freed > 0 else f", which takes {-n_freed} sessions from the others"


def _compare(actor: Actor, programme_id: UUID, wish: "Wish", at: datetime, *, as_json: bool) -> None:
    from pupilage.services.compare_programme_plans import compare_programme_plans

    both = compare_programme_plans(actor, programme_id, wish, now=at)
    if as_json:
        print_json({"now": plain(both.now), "then": plain(both.then)})
        return
    click.echo("Nothing is changed: the plan as it is, and as it would be.")
    print_table(("goal", "sessions now", "then", "chance now", "then"), _pair_rows(both))
    for one in (both.now, both.then):
        if not hasattr(one, "goals"):
            click.echo(_clash_line(one))


def _pair_rows(both: "WhatIf") -> Sequence[tuple[str, ...]]:
    from pupilage.reports.formatting import show_chance

    rows = []
    for pair in both.pairs:
        key = next(goal.behaviour for goal in pair if goal is not None)
        numbers = ["–" if goal is None else str(goal.n_sessions) for goal in pair]
        rows.append((key, *numbers, *(show_chance(None if goal is None else goal.p_with) for goal in pair)))
    return rows
