"""`pupilage ration`: energy by every method, bowl and pouch, what is short; also for a pup that is not on record."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import describe_head, find_programme_id
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act

if TYPE_CHECKING:
    from pupilage.core.care.food.energy import EnergyEstimate
    from pupilage.core.care.food.meals import MealRule
    from pupilage.core.care.food.split import DaySplit
    from pupilage.services.read_ration import MethodLine, RationPage

OFF_RECORD = ("weight_kg", "adult_weight_kg", "age_weeks", "kcal_per_100g", "piece_g")
"""Options that speak of a pup that is not on record."""


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--weight-kg", type=float, help="Of a pup that is not on record: its weight now.", metavar="KG")
@click.option("--adult-weight-kg", type=float, help="What it is expected to weigh when grown.", metavar="KG")
@click.option("--age-weeks", type=float, help="Its age.", metavar="WEEKS")
@click.option("--kcal-per-100g", type=float, help="Energy of its food, as on the label.", metavar="KCAL")
@click.option("--piece-g", type=float, help="A piece of its food.  [default: 0.4]", metavar="G")
@click.option("--sessions", "n_sessions", type=int, help="Sessions to pay today.  [default: as planned, else 4]")
@click.option("--minutes", type=float, help="Minutes each.  [default: 3, from 12 weeks 4]")
@click.option("--rate", "rate_per_min", type=float, help="Rewards a minute.  [default: 10]")
@json_option
@click.pass_obj
def ration(
    choice: Choice,
    programme_id: UUID | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Say what a pup is fed: energy by every method, bowl and pouch, pieces for each session, and what is short.

    Without options for the pup of the stay that runs. With --weight-kg and --age-weeks for any pup, without a
    database. Meals are given whether or not the pup has worked.
    """
    if any(options[name] is not None for name in OFF_RECORD):
        _off_record(options, as_json=as_json)
        return
    actor = act(choice)
    from pupilage.services.read_programme import read_head
    from pupilage.services.read_ration import Wanted, read_ration

    at = now()
    head = read_head(actor, find_programme_id(actor, programme_id, now=at), now=at)
    wanted = Wanted(options["n_sessions"], options["minutes"], options["rate_per_min"])
    page = read_ration(actor, head.dog_id, wanted, now=at)
    if as_json:
        print_json({"programme": head, **_facts(page)})
        return
    click.echo(describe_head(head))
    _print(page)


def _off_record(options: dict[str, Any], *, as_json: bool) -> None:
    from pupilage.core.care.food.feeding import PIECE_G, FeedingQuestion, work_out
    from pupilage.core.care.food.pup import fraction_sentence

    if options["piece_g"] is None:
        options = {**options, "piece_g": PIECE_G}
    found = work_out(FeedingQuestion(**options))
    if as_json:
        print_json({**plain(found), "split": _split_facts(found.split)})
        return
    click.echo(f"{found.pup.weight_kg:g} kg, {found.pup.age_weeks:g} weeks old")
    rows = [
        _method_row(one, _grams(one.energy_kcal, options["kcal_per_100g"]), used=one.method is found.method)
        for one in found.comparison.estimates
    ]
    _print_energy(rows, str(found.comparison.spread))
    if (grown := fraction_sentence(found.pup)) is not None:
        click.echo(str(grown))
    _print_meals(found.meals)
    if found.split is None:
        click.echo("Give --kcal-per-100g from the label for grams, bowl and pouch.")
    else:
        _print_split(found.split)


def _facts(page: "RationPage") -> dict[str, Any]:
    said = {name: [str(one.sentence) for one in getattr(page, name)] for name in ("problems", "split_problems")}
    return {**plain(replace(page, problems=(), split_problems=())), **said, "split": _split_facts(page.split)}


def _split_facts(split: "DaySplit | None") -> dict[str, Any] | None:
    return None if split is None else {**plain(split), "enough": split.enough, "n_short": split.n_short}


def _grams(energy_kcal: float | None, kcal_per_100g: float | None) -> float | None:
    return None if energy_kcal is None or not kcal_per_100g else 100.0 * energy_kcal / kcal_per_100g


def _method_row(one: "EnergyEstimate | MethodLine", grams: float | None, *, used: bool) -> tuple[str, ...]:
    if one.energy_kcal is None or one.low_kcal is None or one.high_kcal is None:
        return (one.method.value, "–", "", "–", str(one.how))
    span = "" if one.low_kcal == one.high_kcal else f"{one.low_kcal:.0f} … {one.high_kcal:.0f}"
    name = f"{one.method.value}{' *' if used else ''}"
    return (name, f"{one.energy_kcal:.0f}", span, "–" if grams is None else f"{grams:.0f}", str(one.how))


def _print_energy(rows: list[tuple[str, ...]], spread: str) -> None:
    print_table(("method", "kcal a day", "grown weight off", "grams", "how"), rows)
    if any(row[0].endswith("*") for row in rows):
        click.echo("* is used.")
    click.echo(spread)


def _print(page: "RationPage") -> None:
    for problem in page.problems:
        click.echo(str(problem))
    if page.comparison is not None:
        used = page.energy_method or (page.usual if page.daily_food_g is None else None)
        _print_energy(
            [_method_row(line, line.grams, used=line.method is used) for line in page.methods],
            str(page.comparison.spread),
        )
    if page.daily_food_g is not None and page.energy_method is None:
        click.echo(f"Fed by what was said: {page.daily_food_g:.0f} g a day.")
    if page.total is not None:
        click.echo(f"Today: {page.total.left_g:.0f} g of {page.total.daily_g:.0f} g left.")
        for note in page.total.notes:
            click.echo(str(note))
    if page.meals is not None:
        _print_meals(page.meals)
    for problem in page.split_problems:
        click.echo(str(problem))
    if page.split is not None:
        _print_split(page.split)
    if page.grown_words is not None:
        click.echo(str(page.grown_words))
    if page.doubt is not None:
        click.echo(str(page.doubt))
    if page.move is not None:
        click.echo(f"This week: {page.move.why}")
        if page.not_due is not None:
            click.echo(f"  {page.not_due}")
        if page.move.veterinarian is not None:
            click.echo(f"Veterinarian: {page.move.veterinarian}")


def _print_meals(meals: "MealRule") -> None:
    from pupilage.core.care.food.meals import NEVER_WITHHOLD, POUCH_LEFT

    click.echo(f"{meals.n_meals} meals a day. {NEVER_WITHHOLD} {POUCH_LEFT}")
    if meals.caution is not None:
        click.echo(str(meals.caution))


def _print_split(split: "DaySplit") -> None:
    rows = [(str(n), f"{one.bowl_g:.0f}", f"{one.pouch_g:.0f}") for n, one in enumerate(split.meals, start=1)]
    print_table(("meal", "bowl (g)", "pouch until the next (g)"), rows)
    paid = [
        (
            str(n),
            f"{one.wish.n_rewards}",
            ", ".join(f"{p.pieces} × {p.reinforcer} ({p.grams:.1f} g)" for p in one.portions) or "–",
            str(one.n_short or ""),
        )
        for n, one in enumerate(split.sessions, start=1)
    ]
    if paid:
        print_table(("session", "rewards", "paid with", "short"), paid)
    click.echo(f"Treats: {split.treats_kcal:.0f} of at most {split.treat_limit_kcal:.0f} kcal.")
    for one in split.short:
        click.echo(str(one.reason))
