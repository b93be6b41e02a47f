"""`pupilage ration`: energy by every method, bowl and pouch, what is short; also for a pup that is not on record."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import describe_head, find_programme_id
from pupilage.cli.printing import json_option, plain, print_json, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.errors import InvalidInput, Problem

if TYPE_CHECKING:
    from pupilage.core.care.food.energy import EnergyEstimate
    from pupilage.core.care.food.meals import MealRule
    from pupilage.core.care.food.pup import Pup
    from pupilage.core.care.food.split import DaySplit, FoodWish
    from pupilage.services.read_ration import MethodLine, RationPage

PIECE_G = 0.4
"""Of a pup that is not on record, a piece of its dry food weighs about this; --piece-g says otherwise."""


@dataclass(frozen=True)
class Given:
    """What the options say of a pup that is not on record."""

    weight_kg: float | None
    adult_weight_kg: float | None
    age_weeks: float | None
    kcal_per_100g: float | None
    piece_g: float
    sessions: int
    minutes: float
    rate: float

    @property
    def any(self) -> bool:
        return any(one is not None for one in (self.weight_kg, self.adult_weight_kg, self.age_weeks))


@click.command()
@click.argument("programme_id", type=click.UUID, required=False, metavar="[ID]")
@click.option("--weight-kg", type=float, help="Of a pup that is not on record: its weight now.", metavar="KG")
@click.option("--adult-weight-kg", type=float, help="What it is expected to weigh when grown.", metavar="KG")
@click.option("--age-weeks", type=float, help="Its age.", metavar="WEEKS")
@click.option("--kcal-per-100g", type=float, help="Energy of its food, as on the label.", metavar="KCAL")
@click.option("--piece-g", type=float, default=PIECE_G, show_default=True, help="A piece of its food.", metavar="G")
@click.option("--sessions", type=int, default=None, help="Sessions to pay today.  [default: as planned, else 4]")
@click.option("--minutes", type=float, default=None, help="Minutes each.  [default: 3, from 12 weeks 4]")
@click.option("--rate", type=float, default=None, help="Rewards a minute.  [default: 10]")
@json_option
@click.pass_obj
def ration(
    choice: Choice,
    programme_id: UUID | None,
    as_json: bool,
    *,
    weight_kg: float | None,
    adult_weight_kg: float | None,
    age_weeks: float | None,
    kcal_per_100g: float | None,
    piece_g: float,
    sessions: int | None,
    minutes: float | None,
    rate: float | None,
) -> None:
    """Say what a pup is fed: energy by every method, bowl and pouch, pieces for each session, and what is short.

    Without options for the pup of the stay that runs. With --weight-kg and --age-weeks for any pup, without a
    database. Meals are given whether or not the pup has worked.
    """
    if weight_kg is not None or adult_weight_kg is not None or age_weeks is not None:
        usual_minutes = 3.0 if age_weeks is not None and age_weeks < 12 else 4.0
        given = Given(
            weight_kg, adult_weight_kg, age_weeks, kcal_per_100g, piece_g,
            4 if sessions is None else sessions,
            usual_minutes if minutes is None else minutes,
            10.0 if rate is None else rate,
        )  # fmt: skip
        _off_record(given, as_json=as_json)
        return
    actor = act(choice)
    from pupilage.services.read_programme import read_head
    from pupilage.services.read_ration import Wanted, read_ration

    at = now()
    head = read_head(actor, find_programme_id(actor, programme_id, now=at), now=at)
    page = read_ration(actor, head.dog_id, Wanted(sessions, minutes, rate), now=at)
    if as_json:
        print_json({"programme": head, **_facts(page)})
        return
    click.echo(describe_head(head))
    _print(page)


def _off_record(given: Given, *, as_json: bool) -> None:
    from pupilage.core.care.food.energy import compare_methods, grown_kcal, usual_method
    from pupilage.core.care.food.meals import meal_rule

    pup, wishes = _pup(given), _wishes(given)
    comparison, usual, meals = compare_methods(pup), usual_method(pup), meal_rule(pup)
    split = None if given.kcal_per_100g is None else _split(pup, given, wishes)
    if as_json:
        print_json(
            {
                "pup": pup,
                "method": usual,
                "energy_kcal": comparison.of(usual).energy_kcal,
                "energy": {**plain(comparison), "grown_kcal": grown_kcal(pup.adult_weight_kg) if pup.adult_weight_kg
                           else None},
                "meals": meals,
                "split": _split_facts(split),
            }
        )  # fmt: skip
        return
    click.echo(f"{pup.weight_kg:g} kg, {pup.age_weeks:g} weeks old")
    rows = [
        _method_row(one, _grams(one.energy_kcal, given.kcal_per_100g), used=one.method is usual)
        for one in comparison.estimates
    ]
    _print_energy(rows, str(comparison.spread))
    _print_meals(meals)
    if split is None:
        click.echo("Give --kcal-per-100g from the label for grams, bowl and pouch.")
    else:
        _print_split(split)


def _pup(given: Given) -> "Pup":
    """Return the pup. Raises InvalidInput with everything that is missing or cannot be, at once."""
    from pupilage.core.care.food.label import LabelUnit, energy_problems
    from pupilage.core.care.food.pup import YOUNGEST_WEEKS, Pup, pup_problems
    from pupilage.core.units import MIN_WEIGHT_KG

    problems = [
        Problem(name, "Give {option} too: energy goes by weight and age.", option=f"--{name.replace('_', '-')}")
        for name in ("weight_kg", "age_weeks")
        if getattr(given, name) is None
    ]
    weight_kg = given.adult_weight_kg or MIN_WEIGHT_KG if given.weight_kg is None else given.weight_kg
    age_weeks = YOUNGEST_WEEKS if given.age_weeks is None else given.age_weeks
    problems += pup_problems(age_weeks, weight_kg, given.adult_weight_kg)
    problems += energy_problems(given.kcal_per_100g, LabelUnit.KCAL_PER_100G)
    problems += _split_problems(given)
    if problems:
        raise InvalidInput(problems)
    return Pup(age_weeks, weight_kg, given.adult_weight_kg)


def _split_problems(given: Given) -> list[Problem]:
    from pupilage.core.care.food.rewards import reward_problems
    from pupilage.core.care.food.split import DayFood, split_problems

    if given.sessions < 0 or given.sessions > 12:
        return [Problem("sessions", "Give a number of sessions from 0 to 12, not {n}.", n=given.sessions)]
    kibble = _kibble(given)
    return [*split_problems(DayFood(1.0, 1.0, 1), _wishes(given), []), *reward_problems(kibble)]


def _kibble(given: Given) -> Any:
    from pupilage.core.care.food.rewards import Reward

    return Reward("its food", given.piece_g, given.kcal_per_100g, from_ration=True)


def _wishes(given: Given) -> "list[FoodWish]":
    from pupilage.core.care.food.split import FoodWish

    return [FoodWish(given.minutes, given.rate)] * max(0, given.sessions)


def _split(pup: "Pup", given: Given, wishes: "list[FoodWish]") -> "DaySplit":
    from pupilage.core.care.food.energy import compare_methods, usual_method
    from pupilage.core.care.food.meals import meal_rule
    from pupilage.core.care.food.split import DayFood, split_day

    energy = compare_methods(pup).of(usual_method(pup)).energy_kcal or 0.0
    food = DayFood(energy, given.kcal_per_100g or 0.0, meal_rule(pup).n_meals)
    return split_day(food, wishes, [_kibble(given)])


def _facts(page: "RationPage") -> dict[str, Any]:
    return {**plain(page), "split": _split_facts(page.split)}


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
    click.echo(f"* is used. {spread}")


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
        if page.total.treat_words is not None:
            click.echo(str(page.total.treat_words))
    if page.meals is not None:
        _print_meals(page.meals)
    for problem in page.split_problems:
        click.echo(str(problem))
    if page.split is not None:
        _print_split(page.split)
    if page.move is not None:
        click.echo(f"This week: {page.move.why}")
        if page.not_due is not None:
            click.echo(f"  {page.not_due}")
        if page.move.veterinarian is not None:
            click.echo(f"Veterinarian: {page.move.veterinarian}")


def _print_meals(meals: "MealRule") -> None:
    from pupilage.core.care.food.meals import NEVER_WITHHOLD

    click.echo(f"{meals.n_meals} meals a day. {NEVER_WITHHOLD}")
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
