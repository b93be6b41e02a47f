"""`pupilage progress`: how far a stay has come, or one behaviour of it: the figures of the pages."""

from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import describe_head, find_programme_id
from pupilage.cli.printing import json_option, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.errors import NotFound
from pupilage.core.words import percent

if TYPE_CHECKING:
    from pupilage.core.access import Actor
    from pupilage.core.evaluation.celeration import Celeration
    from pupilage.core.progress.showings import Showing
    from pupilage.core.progress.way import GoalProgress, Way
    from pupilage.services.read_programme_progress import ProgrammeProgress
    from pupilage.services.read_progress import ProgressPage


@click.command()
@click.option("--stay", "programme_id", type=click.UUID, help="Another stay than the one that runs.", metavar="ID")
@click.option("--dog", default="", help="The newest stay of the dog of this name.", metavar="NAME")
@click.option("--behaviour", help="One behaviour's way, day by day.", metavar="KEY")
@json_option
@click.pass_obj
def progress(choice: Choice, programme_id: UUID | None, dog: str, behaviour: str | None, as_json: bool) -> None:
    """Say how far a stay has come: every goal today and at the hand-over; or one behaviour from its first day on.

    A goal's chance is that of its test, 8 of 10, cold: today, and on the hand-over day as planned. The figures are
    those of the pages, and `pupilage explain progress.KEY.today` says where one comes from.
    """
    actor = act(choice)
    from pupilage.services.read_programme_progress import read_programme_progress
    from pupilage.services.read_progress import read_progress

    at = now()
    found = _find_stay(actor, programme_id, dog)
    if behaviour is not None:
        page = read_progress(actor, found, behaviour, now=at)
        _print_json_or(as_json, {"programme": page.head, **way_facts(page.way)}, lambda: _print_way(page))
        return
    stay = read_programme_progress(actor, found, now=at)
    goals = [goal_facts(goal) for goal in stay.goals]
    others = [one.key for one in stay.others]
    _print_json_or(
        as_json, {"programme": stay.head, "goals": goals, "also_practised": others}, lambda: _print_stay(stay)
    )


def _print_json_or(as_json: bool, facts: dict[str, Any], show: Any) -> None:
    if as_json:
        print_json(facts)
    else:
        show()


def _find_stay(actor: "Actor", programme_id: UUID | None, dog: str) -> UUID:
    from pupilage.services.read_programme import list_programmes

    if not dog or programme_id is not None:
        return find_programme_id(actor, programme_id, now=now())
    heads = list_programmes(actor, now=now())
    found = next((head.id for head in heads if head.dog.casefold() == dog.strip().casefold()), None)
    if found is None:
        names = ", ".join(dict.fromkeys(head.dog for head in heads)) or "none"
        raise NotFound("No stay of a dog called “{name}”; the dogs here are: {names}.", name=dog, names=names)
    return found


def goal_facts(goal: "GoalProgress") -> dict[str, Any]:
    """Return a goal's figures by name."""
    return {
        "behaviour": goal.behaviour.key,
        "target": goal.target.key,
        "step": goal.step.key,
        "place": goal.place,
        "goal_place": goal.goal_place,
        "n_trials": goal.n_trials,
        "n_days": goal.n_days,
        "passes_today": goal.now,
        "passes_at_handover": goal.then,
        "due_in_days": goal.due_in_days,
        "reason": goal.reason,
    }


def way_facts(way: "Way") -> dict[str, Any]:
    """Return the figures of a behaviour's way by name; chances from 0 to 1, times in seconds."""
    place = way.place - 1
    return {
        "behaviour": way.behaviour.key,
        "step": way.step.key,
        "target": way.target.key,
        "is_goal": way.is_goal,
        "place": way.place,
        "goal_place": way.goal_place,
        "n_trials": way.n_trials,
        "baseline": None if way.baseline is None else {"n_met": way.baseline.n_met, "n": way.baseline.n},
        "today": way.today,
        "days": [_day(line) for line in way.days],
        "evenings": [{"day": one.day, **_chance(one.steps[place])} for one in way.evenings],
        "a_week": {"met": way.met, "missed": way.missed},
        "where_asked": [
            {"place": one.place, "n_met": one.n_met, "n": one.n, "standing": one.standing} for one in way.where_asked
        ],
        "places": [_showing(one) for one in way.places],
        "people": [_showing(one) for one in way.people],
        "map": None if way.plane is None else way.plane,
        "without_practice": way.retention,
        "due_in_days": way.due_in_days,
    }


def _chance(one: Any) -> dict[str, float]:
    return {"p": one.p, "low": one.low, "high": one.high}


def _day(line: Any) -> dict[str, Any]:
    return {
        "day": line.day,
        "step": line.step,
        "n": line.n,
        "n_met": line.n_met,
        "n_helped": line.n_helped,
        "latency_s": line.latency_s,
        "held_s": line.held_s,
        "minutes": line.minutes,
        "rewards_per_min": line.rewards_per_min,
    }


def _showing(one: "Showing") -> dict[str, Any]:
    lately = one.lately
    return {
        "name": one.name,
        "n": one.n,
        "n_days": one.n_days,
        "last_on": one.last_on,
        "newest": {"n_met": lately.n_met, "n": lately.n},
        "standing": one.standing,
    }


def _print_stay(page: "ProgrammeProgress") -> None:
    from pupilage.reports.formatting import show_chance

    click.echo(describe_head(page.head))

    def shown(chance: Any) -> str:
        return (
            "–"
            if chance is None
            else f"{show_chance(chance.p)} ({show_chance(chance.low)} … {show_chance(chance.high)})"
        )

    rows = [
        (
            goal.behaviour.key,
            f"{goal.place} of {goal.goal_place}",
            shown(goal.now),
            shown(goal.then),
            "–" if goal.due_in_days is None else str(goal.due_in_days),
        )
        for goal in page.goals
    ]
    print_table(("behaviour", "step", "passes today", "at the hand-over", "due in days"), rows)
    for goal in page.goals:
        if goal.now is None:
            click.echo(f"{goal.behaviour.key}: {goal.reason}")
    if page.others:
        click.echo(f"Also practised: {', '.join(one.key for one in page.others)}")


def _print_way(page: "ProgressPage") -> None:
    way = page.way
    click.echo(describe_head(page.head))
    click.echo(f"{way.behaviour.key}: step {way.place} of {way.goal_place}, {way.step.summary}")
    if not way.days or way.today is None:
        click.echo("Never tried yet.")
        return
    click.echo(
        f"A first try at this step today: {percent(way.today.p)} ({percent(way.today.low)} … {percent(way.today.high)})"
    )
    evenings = {one.day: one.steps[way.place - 1] for one in way.evenings}
    places = {step.key: n for n, step in enumerate(way.behaviour.steps, start=1)}
    rows = [
        (
            line.day.isoformat(),
            str(places.get(line.step, "–")),
            f"{line.n_met}/{line.n}",
            "–" if line.day not in evenings else percent(evenings[line.day].p),
            _seconds(line.latency_s),
            _seconds(line.held_s),
            "–" if line.rewards_per_min is None else f"{line.rewards_per_min:.1f}",
        )
        for line in way.days
    ]
    print_table(("day", "step", "met", "today's step", "latency", "held", "rewards/min"), rows)
    for name, found in (("met", way.met), ("missed", way.missed)):
        if found is not None:
            click.echo(f"{name} a minute: {_a_week(found)} a week")
    for label, showings in (("at", way.places), ("with", way.people)):
        for one in showings:
            name = one.name or ("a place not said" if label == "at" else "the trainer")
            click.echo(f"{label} {name}: {one.lately.n_met} of the newest {one.lately.n} met, {one.n} in all")
    if way.due_in_days is not None:
        click.echo(f"Due in days: {way.due_in_days}")


def _seconds(value: float | None) -> str:
    return "–" if value is None else f"{value:.1f} s"


def _a_week(found: "Celeration") -> str:
    from pupilage.core.evaluation.celeration import say_factor

    line = found.per_week
    return f"{say_factor(line.value)} ({say_factor(line.low)} … {say_factor(line.high)})"
