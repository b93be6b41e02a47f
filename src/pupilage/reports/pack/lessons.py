"""A section for each behaviour: how to ask, what counts, where it works, the next eight weeks, when it fails."""

from typing import Any

from pupilage.core.catalogue.behaviour import Place, Step
from pupilage.core.handover.facts import GoalFacts
from pupilage.core.handover.places import PlaceCount, Standing
from pupilage.core.handover.weeks import grow_ratio
from pupilage.core.training.rewards.thinning import share_in_words
from pupilage.core.words import Sentence, sentence
from pupilage.reports.formatting import show_distance, show_seconds
from pupilage.reports.pack.figures import Source
from pupilage.reports.pack.fridge import sign_of
from pupilage.reports.pack.writer import (
    Block,
    Cell,
    Writer,
    cell,
    facts_table,
    group,
    heading,
    lines,
    numbered,
    paragraph,
    table,
)

PLACES = {
    Place.QUIET_ROOM: sentence("A quiet room"),
    Place.HOME: sentence("All over the house"),
    Place.GARDEN: sentence("The garden"),
    Place.QUIET_STREET: sentence("A quiet street"),
    Place.BUSY_PLACE: sentence("A busy place"),
    Place.NEW_PLACE: sentence("A place it does not know"),
}
COUNTS = {
    Standing.WORKS: sentence("{place}: {met} of the last {n} tries worked."),
    Standing.UNSURE: sentence("{place}: {met} of the last {n} tries worked. Not sure yet."),
    Standing.FEW: sentence("{place}: {met} of {n} tries worked. Too few to say."),
    Standing.NEVER: sentence("{place}: not tried yet."),
}
N_DATES = 4


def lesson(w: Writer, goal: GoalFacts) -> dict[str, Any]:
    """Return one behaviour's section."""
    t, behaviour = w.tongue, goal.behaviour
    blocks = [
        facts_table(
            [
                (t.of("You say"), t.text(behaviour.cue)),
                (t.of("Your hand"), sign_of(w, behaviour.key)),
                (t.of("What counts"), t.text(behaviour.definition)),
                (t.of("The aim"), t.text(goal.target.summary)),
                *_stated(w, goal),
            ]
        ),
        *_where(w, goal),
        group(
            heading(t.of("The next eight weeks")),
            _weeks(w, goal),
            paragraph(t.of("Go on to the next row only when 4 of 5 tries work. If not, stay where you are.")),
        ),
        *([paragraph(*kept)] if (kept := _upkeep(w, goal)) else []),
        group(
            heading(t.of("When it fails")),
            numbered(
                [
                    t.of("Say it once and wait. Do not say it again."),
                    t.of("Make it easier: nearer, calmer, shorter. Go back to where it last worked."),
                    t.of("Two misses in a row: stop, play, and try again later."),
                    t.of("Bad on three days in a row: call the trainer."),
                ]
            ),
        ),
        group(heading(t.of("Take care")), lines(t.text(line) for line in behaviour.safety)),
    ]
    return {"title": t.text(behaviour.name), "blocks": blocks}


def _stated(w: Writer, goal: GoalFacts) -> list[tuple[str, Cell]]:
    """Return the seconds and metres that the definition speaks of, at the goal's step; those that matter there."""
    t, asked = w.tongue, goal.target.criterion
    source = Source(
        "core.catalogue.loading.load_bundled",
        {"behaviour": goal.behaviour.key, "step": goal.target.key},
        t.of("From the catalogue, at the aim."),
    )
    found = []
    if asked.latency_s is not None:
        found.append(
            (
                "seconds",
                asked.latency_s,
                t.of("Begins within {n}.", n=show_seconds(asked.latency_s)),
                show_seconds(asked.latency_s),
            )
        )
    if asked.duration_s >= 1:
        found.append(
            (
                "lasts",
                asked.duration_s,
                t.of("Lasts {n}.", n=show_seconds(asked.duration_s)),
                show_seconds(asked.duration_s),
            )
        )
    if asked.distance_m >= 1:
        shown = show_distance(asked.distance_m)
        found.append(("metres", asked.distance_m, t.of("You are {n} away.", n=shown), shown))
    if not found:
        return []
    numbers = [w.note(f"{goal.behaviour.key}.{key}", value, shown, source) for key, value, _, shown in found]
    return [(t.of("As stated"), cell(" ".join(words for _, _, words, _ in found), *numbers))]


def _where(w: Writer, goal: GoalFacts) -> list[Block]:
    t = w.tongue
    if not goal.n_trials:
        return [
            heading(t.of("Where it works today")),
            paragraph(t.of("It was never practised here. Begin with the first row below.")),
        ]
    works = [_count(w, goal, one) for one in goal.places if one.standing is Standing.WORKS]
    not_yet = [_count(w, goal, one) for one in goal.places if one.standing is not Standing.WORKS]
    return [
        heading(t.of("Where it works today")),
        lines(works or [t.of("Nowhere for sure yet.")]),
        *([heading(t.of("Where not yet")), lines(not_yet)] if not_yet else []),
        paragraph(_trials(w, goal)),
    ]


def _count(w: Writer, goal: GoalFacts, one: PlaceCount) -> Cell:
    t = w.tongue
    words = Sentence(COUNTS[one.standing].template, {"place": t.said(PLACES[one.place]), "met": one.n_met, "n": one.n})
    if one.n == 0:
        return cell(t.said(words))
    source = Source(
        "core.handover.places.count_by_place",
        {"behaviour": goal.behaviour.key, "target": goal.target.key, "place": one.place.value},
        t.of("Newest tries at this place, 20 at most; helped ones count as not worked."),
    )
    number = w.note(f"{goal.behaviour.key}.{one.place.value}", f"{one.n_met}/{one.n}", f"{one.n_met}/{one.n}", source)
    return cell(t.said(words), number)


def _trials(w: Writer, goal: GoalFacts) -> Cell:
    t = w.tongue
    source = Source("services.know_dog.know_dog", {"behaviour": goal.behaviour.key}, t.of("All tries in the record."))
    number = w.note(f"{goal.behaviour.key}.tries", goal.n_trials, str(goal.n_trials), source)
    if goal.days is None:
        return cell("")
    first, last = (w.day(day) for day in goal.days)
    days = [
        w.note_day(f"{goal.behaviour.key}.{name}", day, w.day(day), source)
        for name, day in zip(("first", "last"), goal.days, strict=True)
    ]
    words = t.of("{n} tries in all, from {first} to {last}.", n=goal.n_trials, first=first, last=last)
    return cell(words, number, *days)


def _upkeep(w: Writer, goal: GoalFacts) -> list[Cell]:
    t, upkeep = w.tongue, goal.upkeep
    if upkeep is None:
        return []
    key = goal.behaviour.key
    source = Source(
        "core.handover.weeks.plan_upkeep",
        {"behaviour": key, "step": kept_step(goal), "from_day": w.facts.handover_on.isoformat()},
        t.of("Forecast: a first try should still work 3 times in 4."),
    )
    found = []
    for name, (days, p), template in zip(
        ("now", "week", "month"), upkeep.p_then, (_AT_HANDOVER, _AFTER_A_WEEK, _AFTER_FOUR_WEEKS), strict=True
    ):
        number = w.note(f"{key}.kept-{name}", round(p, 3), f"{tenths(p)}/10", source)
        found.append(cell(t.said(Sentence(template.template, {"n": tenths(p), "days": days})), number))
    return found


_AT_HANDOVER = sentence("On the day it moves about {n} of 10 first tries should work, as it does now.")
_AFTER_A_WEEK = sentence("With no practice it would be about {n} of 10 a week later,")
_AFTER_FOUR_WEEKS = sentence("and about {n} of 10 after four weeks.")


def kept_step(goal: GoalFacts) -> str:
    """Return the step of which the forecast speaks: the hardest that works, at most the goal."""
    steps = goal.behaviour.steps
    place = min(goal.known or 0, goal.behaviour.step_index(goal.target.key) or 0)
    return steps[place].key


def tenths(p: float) -> int:
    """Return a chance as so many of ten, never 0 or 10, which no data can show."""
    return min(9, max(1, round(10.0 * p)))


def _weeks(w: Writer, goal: GoalFacts) -> Block:
    t, steps = w.tongue, goal.behaviour.steps
    known, last = goal.known, len(steps) - 1
    places = [0, 0, 1, 2] if known is None else [max(0, known - 1), known, known + 1, known + 2]
    rows: list[list[Cell | str]] = []
    for i, dates in enumerate(w.fortnights()):
        rows.append(
            [dates, _step_words(w, goal, places[i], steps[min(places[i], last)]), _how_often(w, goal), _pay(w, goal, i)]
        )
    return table([t.of("Dates"), t.of("Practise"), t.of("How often"), t.of("Food for")], rows)


def _step_words(w: Writer, goal: GoalFacts, place: int, step: Step) -> str:
    t, goal_place = w.tongue, goal.behaviour.step_index(goal.target.key) or 0
    if place > goal_place and goal.at_goal:
        return t.of("The aim, in new places and with new people.")
    return t.text(step.summary)


def _how_often(w: Writer, goal: GoalFacts) -> Cell:
    t, upkeep = w.tongue, goal.upkeep
    if upkeep is None or not goal.at_goal:
        return cell(t.of("5 tries a day"))
    source = Source(
        "core.handover.weeks.plan_upkeep",
        {"behaviour": goal.behaviour.key, "step": kept_step(goal)},
        t.of("Forecast: a first try should still work 3 times in 4."),
    )
    number = w.note(f"{goal.behaviour.key}.every", upkeep.every_days, str(upkeep.every_days), source)
    if upkeep.every_days == 1:
        return cell(t.of("5 tries a day"), number)
    shown = w.day(upkeep.due_on)
    due = w.note_day(f"{goal.behaviour.key}.due", upkeep.due_on, shown, source)
    return cell(t.of("5 tries every {n} days, first on {day}", n=upkeep.every_days, day=shown), number, due)


def _pay(w: Writer, goal: GoalFacts, i: int) -> Cell:
    t, behaviour = w.tongue, goal.behaviour
    week = 2 * i + 1
    ratio = grow_ratio(goal.level, week, always_paid=behaviour.always_paid, sure=goal.sure and goal.at_goal)
    if ratio == 1.0:
        return cell(t.of("every one"))
    paid, of = share_in_words(ratio)
    source = Source(
        "core.handover.weeks.grow_ratio",
        {"level": goal.level, "week": week},
        t.of("A level every two weeks, 1 in 3 at most."),
    )
    number = w.note(f"{behaviour.key}.pay{week}", ratio, f"{paid}/{of}", source)
    return cell(t.of("about {paid} in {of}; praise for all", paid=paid, of=of), number)
