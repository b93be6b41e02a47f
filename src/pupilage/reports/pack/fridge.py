"""The page for the fridge: words and signs, the rules of the house, the day, outings and food."""

from datetime import time
from typing import Any

from pupilage.core.handover.signs import HAND_SIGNS
from pupilage.reports.formatting import show_grams
from pupilage.reports.pack.figures import Source
from pupilage.reports.pack.writer import Block, Cell, Writer, callout, cell, facts_table, lines, table


def fridge_page(w: Writer) -> dict[str, Any]:
    """Return the page: a left column for words, a right one for the day."""
    t = w.tongue
    return {
        "title": t.of("The pup on one page"),
        "left": [
            {"kind": "heading", "text": t.of("Words and hand signs")},
            _words(w),
            {"kind": "heading", "text": t.of("House rules")},
            _rules(w),
        ],
        "right": [
            {"kind": "heading", "text": t.of("The day")},
            _day(w),
            {"kind": "heading", "text": t.of("Out to the toilet")},
            lines(outing_lines(w)),
            {"kind": "heading", "text": t.of("Food")},
            lines(food_lines(w)),
            {"kind": "heading", "text": t.of("In an emergency")},
            phones(w),
        ],
    }


def _words(w: Writer) -> Block:
    t, facts = w.tongue, w.facts
    rows: list[list[Cell | str]] = [
        [t.text(goal.behaviour.name), t.text(goal.behaviour.cue), sign_of(w, goal.behaviour.key)]
        for goal in facts.goals
    ]
    release = facts.release_word or t.of("not chosen yet: agree on one word")
    rows.append([t.of("Set free again"), release, t.of("Hands open, step aside")])
    return table([t.of("What it does"), t.of("You say"), t.of("Your hand")], rows)


def sign_of(w: Writer, key: str) -> str:
    """Return the hand sign of a behaviour."""
    sign = HAND_SIGNS.get(key)
    return "–" if sign is None else w.tongue.said(sign)


def _rules(w: Writer) -> Block:
    t = w.tongue
    if w.facts.house_rules:
        return lines(w.facts.house_rules)
    return lines(
        [
            t.of("We all use the same words, and say them once."),
            t.of("We pay what we like to see: food, play, a kind word."),
            t.of("We do not shout, hit, jerk the lead or take food away."),
            t.of("Sleep is sacred: nobody wakes the pup for fun."),
            t.of("Children and the pup: only with a grown-up beside them."),
            t.of("A thing it must not have: swap it, do not chase."),
        ]
    )


def _day(w: Writer) -> Block:
    t, facts = w.tongue, w.facts
    times = [
        (facts.wake, "wake", t.of("Up, and straight out")),
        *((at, f"meal{n}", t.of("Meal, then out")) for n, at in enumerate(sorted(facts.meals), start=1)),
        (facts.last_outing, "last-outing", t.of("Last time out, then bed")),
    ]
    rows: list[tuple[Cell | str, Cell | str]] = [(_time(w, at, key), text) for at, key, text in sorted(times)]
    if not facts.meals:
        rows.insert(1, ("–", _meals(w)))
    rows.insert(-1, ("–", t.of("After play, an hour of sleep or more in its quiet place")))
    return facts_table(rows)


def _time(w: Writer, at: time, key: str) -> Cell:
    shown = f"{at:%H:%M}"
    source = Source(
        "storage.queries.day_plans.preferences_of", {"time": key}, w.tongue.of("As set for the stay’s days.")
    )
    return cell(shown, w.note(f"day.{key}", shown, shown, source))


def _meals(w: Writer) -> Cell:
    n = w.facts.food.n_meals
    text = w.tongue.of("{n} meals, spread over the day", n=n)
    return cell(text, w.note("food.meals", n, str(n), meal_source(w)))


def meal_source(w: Writer) -> Source:
    """Return where the number of meals comes from."""
    t = w.tongue
    weighing = w.facts.food.weighing
    return Source(
        "core.care.food.meals.meal_rule",
        {} if weighing is None else {"weight_kg": weighing[0]},
        t.of("By age and grown weight."),
    )


def outing_lines(w: Writer) -> list[Cell | str]:
    """Return how often it goes out today."""
    t, outings = w.tongue, w.facts.outings
    after = t.of("After sleep, food and play: at once.")
    if outings is None:
        return [after, t.of("For a dog of this age we have no outing times. Ask the trainer.")]
    source = Source(
        "core.care.toilet.outlook.outing_limits",
        {"risk": outings.risk, "n_outings": outings.n_outings},
        t.of("From {n} outings written down.", n=outings.n_outings),
    )
    found: list[Cell | str] = [after]
    for key, minutes, template in (
        ("outing.awake", outings.awake_min, t.of("Awake: every {n} minutes or sooner.", n=outings.awake_min)),
        ("outing.resting", outings.resting_min, t.of("Resting by day: after {n} minutes.", n=outings.resting_min)),
        ("outing.night", outings.night_min, t.of("At night: after {n} minutes.", n=outings.night_min)),
    ):
        found.append(cell(template, w.note(key, minutes, str(minutes), source)))
    return found


def food_lines(w: Writer) -> list[Cell | str]:
    """Return the ration of today."""
    t, food = w.tongue, w.facts.food
    if food.daily_g is None:
        return [t.of("The ration was not written down. Ask the trainer before the pup leaves."), _meals(w)]
    source = Source("storage.models.Dog", {"field": "daily_food_g"}, t.of("As set in the record."))
    each = food.daily_g / food.n_meals
    of_meals = Source(
        "reports.pack.fridge.food_lines", {"daily_g": food.daily_g, "n_meals": food.n_meals}, t.of("Ration ÷ meals.")
    )
    shown = show_grams(food.daily_g)
    found: list[Cell | str] = [
        cell(t.of("{g} a day in all, rewards included.", g=shown), w.note("food.day", food.daily_g, shown, source)),
        cell(
            t.of("{n} meals of about {g}.", n=food.n_meals, g=show_grams(each)),
            w.note("food.meals", food.n_meals, str(food.n_meals), meal_source(w)),
            w.note("food.meal", each, show_grams(each), of_meals),
        ),
    ]
    if food.name:
        found.insert(0, food.name)
    return found


def phones(w: Writer) -> Block:
    """Return whom to call, or that nobody has entered a number."""
    t, facts = w.tongue, w.facts
    none = t.of("no number entered: write yours here")
    return callout(
        t.of("Vet: {phone}", phone=facts.vet_phone or none),
        t.of("Poison line: {phone}", phone=facts.poison_phone or none),
    )
