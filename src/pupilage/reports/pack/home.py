"""The parts of the pack that are about the house: the weeks, unwanted behaviours, food, safety, other dogs, dates."""

from datetime import date
from itertools import pairwise
from typing import Any

from pupilage.core.care.food.meals import NEVER_WITHHOLD, NOT_EATING
from pupilage.core.handover.facts import UnwantedFacts
from pupilage.core.incidents.alone import NO_MORE
from pupilage.core.words import Sentence
from pupilage.reports.formatting import show_grams, show_weight
from pupilage.reports.pack.figures import Source
from pupilage.reports.pack.fridge import food_lines, meal_source, phones
from pupilage.reports.pack.writer import (
    Block,
    Cell,
    Writer,
    callout,
    cell,
    facts_table,
    group,
    heading,
    lines,
    paragraph,
    table,
)


def weeks_section(w: Writer) -> dict[str, Any]:
    """Return the eight weeks at a glance: outings, time alone, food."""
    t, alone = w.tongue, w.facts.alone
    rows: list[list[Cell | str]] = [
        [str(one.number), w.week(i), _outing(w, i), _absence(w, i), _grams(w, i)] for i, one in enumerate(w.spans)
    ]
    blocks = [
        paragraph(t.of("Each week may go slower than this. It never has to go faster.")),
        table(
            [t.of("Week"), t.of("Dates"), t.of("Awake: out every"), t.of("Alone, at most"), t.of("Food a day")], rows
        ),
        lines(
            [
                t.of(
                    "Longer between outings only after a week with no puddle indoors. If there is one, go back a row."
                ),
                t.of("Five times alone a week, most of them shorter. Watch by camera."),
                t.of("A whine, a bark, scratching or pacing: it was too long. Next time half of it."),
                t.of("Never let it cry. Never be away longer than it can wait for the toilet."),
            ]
        ),
        paragraph(_calm_words(w)),
    ]
    if alone.panicked:
        blocks.insert(1, callout(t.said(NO_MORE)))
    return {"title": t.of("The first eight weeks"), "blocks": blocks}


def _outing(w: Writer, i: int) -> Cell:
    outings = w.facts.outings
    if outings is None:
        return cell("–")
    minutes = outings.weeks_min[i]
    source = Source(
        "core.handover.weeks.grow_slowly",
        {"week": i + 1, "risk": outings.risk, "n_outings": outings.n_outings},
        w.tongue.of("Outing limits at the age of that week, a quarter longer each week at most."),
    )
    return cell(w.span(60.0 * minutes), w.note(f"week{i + 1}.outing", minutes, w.span(60.0 * minutes), source))


def _absence(w: Writer, i: int) -> Cell:
    seconds = w.facts.alone.weeks_s[i]
    if seconds is None:
        return cell(w.tongue.of("not alone"))
    source = Source(
        "core.handover.weeks.grow_absences",
        {"week": i + 1, "n_absences": w.facts.alone.n_absences},
        w.tongue.of("If every one before stays calm; never longer than the outing limit."),
    )
    return cell(w.span(seconds), w.note(f"week{i + 1}.alone", seconds, w.span(seconds), source))


def _grams(w: Writer, i: int) -> Cell:
    grams = w.facts.food.weeks[i].grams
    if grams is None:
        return cell("–")
    source = Source(
        "services.gather_pack._grams",
        {"week": i + 1, "daily_g": w.facts.food.daily_g or 0.0},
        w.tongue.of("Ration of today × energy then ÷ energy now."),
    )
    return cell(show_grams(grams), w.note(f"week{i + 1}.food", grams, show_grams(grams), source))


def _calm_words(w: Writer) -> Cell:
    t, alone = w.tongue, w.facts.alone
    if alone.longest_calm_s is None:
        return cell(t.of("No calm time alone is on record. The plan begins at the door."))
    source = Source(
        "storage.queries.absences.list_absences", {"n": alone.n_absences}, t.of("Watched absences on record.")
    )
    shown = w.span(alone.longest_calm_s)
    return cell(
        t.of("The longest calm time alone so far: {span}, of {n} on record.", span=shown, n=alone.n_absences),
        w.note("alone.longest", alone.longest_calm_s, shown, source),
        w.note("alone.n", alone.n_absences, str(alone.n_absences), source),
    )


def unwanted_section(w: Writer) -> dict[str, Any]:
    """Return what to arrange and what to do instead, one unwanted behaviour after the other."""
    t = w.tongue
    blocks: list[Block] = [paragraph(t.of("First make it hard to do. Then pay what it can do in its place."))]
    for one in w.facts.unwanted:
        blocks.append(group(*_unwanted(w, one)))
    return {"title": t.of("What we do not want, and what to do"), "blocks": blocks}


def _unwanted(w: Writer, one: UnwantedFacts) -> list[Block]:
    t = w.tongue
    source = Source(
        "storage.queries.incidents.list_incidents",
        {"behaviour": one.unwanted.key, "days": 14},
        t.of("Written down in the last 14 days; near misses are left out."),
    )
    number = w.note(f"{one.unwanted.key}.lately", one.n_lately, str(one.n_lately), source)
    instead = t.text(one.unwanted.replacement)
    if one.replacement is not None:
        instead += " " + t.of("See “{name}”.", name=t.text(one.replacement.name))
    return [
        heading(t.text(one.unwanted.name)),
        paragraph(cell(t.of("In the last 14 days written down: {n}.", n=one.n_lately), number)),
        {"kind": "label", "text": t.of("Arrange")},
        lines(t.text(line) for line in one.arrange),
        {"kind": "label", "text": t.of("Instead")},
        paragraph(instead),
        {"kind": "label", "text": t.of("Take care")},
        lines(t.text(line) for line in one.unwanted.safety),
    ]


def food_section(w: Writer) -> dict[str, Any]:
    """Return the ration, how it grows, and the rules of feeding."""
    t, food = w.tongue, w.facts.food
    rows: list[list[Cell | str]] = [
        [str(one.number), w.week(i), _weight(w, i), _grams(w, i)] for i, one in enumerate(w.spans)
    ]
    blocks = [
        lines(food_lines(w)),
        paragraph(_weighed(w)),
        table([t.of("Week"), t.of("Dates"), t.of("Weight, about"), t.of("Food a day")], rows),
        lines(
            [
                t.of("Weigh it once a week and write it down. These weights may be off by a fifth."),
                t.of("Much more or less than that, or ribs that show: ask the vet about the food."),
                t.of("A new food: mix it in over a week."),
                t.said(NEVER_WITHHOLD),
                t.said(NOT_EATING),
            ]
        ),
    ]
    if food.weeks and food.weeks[0].weight_kg is None:
        blocks[2] = paragraph(t.of("Without its weight and its grown weight no table can be made. Ask the vet."))
    grams = [one.grams for one in food.weeks if one.grams is not None]
    if any(after < before for before, after in pairwise(grams)):
        blocks.insert(
            3,
            paragraph(
                t.of("Less food from one week to the next is meant: past half its size a pup needs less for each kilo.")
            ),
        )
    if food.caution is not None:
        blocks.insert(1, callout(_cautioned(w, food.caution)))
    return {"title": t.of("Food"), "blocks": blocks, "follows": True, "whole": True}


def _cautioned(w: Writer, caution: Sentence) -> Cell:
    """Return the caution for a very small pup, with the hours that it names."""
    t, source = w.tongue, meal_source(w)
    numbers = [w.note(f"food.{name}", value, f"{value:g}", source) for name, value in caution.figures.items()]
    return cell(t.said(caution), *numbers)


def _weighed(w: Writer) -> Cell:
    t, weighing = w.tongue, w.facts.food.weighing
    if weighing is None:
        return cell(t.of("It was not weighed here."))
    weight_kg, on = weighing
    shown = show_weight(weight_kg, w.options.unit)
    source = Source("storage.queries.food.list_weighings", {"on": on.isoformat()}, t.of("The newest weighing."))
    return cell(
        t.of("Last weighed on {day}: {weight}.", day=w.day(on), weight=shown),
        w.note_day("weight.on", on, w.day(on), source),
        w.note("weight.last", weight_kg, shown, source),
    )


def _weight(w: Writer, i: int) -> Cell:
    weight_kg = w.facts.food.weeks[i].weight_kg
    if weight_kg is None:
        return cell("–")
    shown = show_weight(weight_kg, w.options.unit)
    source = Source(
        "core.care.food.growth.typical_weight", {"week": i + 1}, w.tongue.of("Its own line beside the usual growth.")
    )
    return cell(shown, w.note(f"week{i + 1}.weight", weight_kg, shown, source))


def safety_section(w: Writer) -> dict[str, Any]:
    """Return when to call whom."""
    t = w.tongue
    blocks = [
        phones(w),
        heading(t.of("Call the vet at once")),
        lines(
            [
                t.of("It may have eaten something bad: call at once, and do not make it sick unless told to."),
                t.of("It cannot breathe well, falls over, has a fit, or does not wake as it should."),
                t.of("Blood, a hard swollen belly, or it tries to be sick and nothing comes."),
                t.of("It is sick or has loose stools more than twice, or is weak with it."),
                t.of("Heat: it pants hard and cannot stop. Shade, cool water on its coat, and go."),
            ]
        ),
        heading(t.of("Ask the vet, who may send you to a behaviour vet")),
        lines(
            [
                t.of("It growls, snaps or bites over food, things or places."),
                t.of("It panics alone, or hurts itself to get out."),
                t.of("It is afraid, and the fear does not pass or comes back stronger."),
                t.of("It can no longer do what it could, or one spot seems sore."),
            ]
        ),
        heading(t.of("A person is hurt")),
        lines(
            [
                t.of("A bite that breaks the skin: wash it and see a doctor the same day."),
                t.of("Part child and dog, stay calm, and never leave them alone."),
            ]
        ),
        paragraph(t.of("This pack is no advice of a vet. What your vet and the law where you live say comes first.")),
    ]
    if signs := t.signs(w.facts.signs):
        blocks.insert(1, callout(t.of("Ask your vet about this, seen here:"), *signs))
    return {"title": t.of("Safety: whom to call and when"), "blocks": blocks}


def resident_section(w: Writer) -> dict[str, Any]:
    """Return the part of the dog that lives there already."""
    t, names = w.tongue, w.facts.residents
    who = t.of("In your home: {names}.", names=", ".join(names)) if names else t.of("No dog of yours is on record.")
    return {
        "title": t.of("The dog that lives there"),
        "follows": True,
        "whole": True,
        "blocks": [
            paragraph(who),
            lines(
                [
                    t.of("First meeting outside, on slack leads, with room to turn away. Then home together."),
                    t.of("The older dog has a bed, and a way out, that the pup cannot reach."),
                    t.of("Bowls, chews and toys apart. Pick them up before the two meet."),
                    t.of("Call both away every half minute of play, pay both, let them go again."),
                    t.of("A growl is a word: give room. Never punish a growl."),
                    t.of("Do not leave the two alone together in these weeks."),
                    t.of("The older dog gets time of its own each day, with you, without the pup."),
                ]
            ),
        ],
    }


def vet_section(w: Writer) -> dict[str, Any]:
    """Return the vaccinations and other dates with the veterinarian, as they were entered."""
    t, dates = w.tongue, w.facts.vet_dates
    block = (
        facts_table((_vet_day(w, i, on), what) for i, (on, what) in enumerate(dates, start=1))
        if dates
        else paragraph(
            t.of("No date with the vet was entered. Ask for the papers, and call your vet in the first week.")
        )
    )
    last = paragraph(t.of("As the trainer entered them. The vaccination papers count, not this list."))
    return {"title": t.of("Vaccinations and vet dates"), "blocks": [block, last] if dates else [block], "follows": True}


def _vet_day(w: Writer, i: int, on: date) -> Cell:
    shown = w.whole_day(on)
    source = Source("storage.models.VetDate", {"place": i}, w.tongue.of("As entered."))
    return cell(shown, w.note_day(f"vet.{i}", on, shown, source))
