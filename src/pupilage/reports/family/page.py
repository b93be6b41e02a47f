"""What the family's page says: what the pup can do and how we know, what is next, what to do at home."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from django.utils import translation

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.handover.facts import GoalFacts, PackFacts
from pupilage.core.handover.family_parts import Part
from pupilage.core.handover.places import PlaceCount, Standing
from pupilage.core.handover.signs import HAND_SIGNS
from pupilage.core.units import WeightUnit
from pupilage.core.words import Sentence, sentence
from pupilage.reports.family.tongue import FamilyTongue
from pupilage.reports.pack.fridge import food_lines, outing_lines
from pupilage.reports.pack.lessons import COUNTS, PLACES
from pupilage.reports.pack.options import Language, PackOptions
from pupilage.reports.pack.writer import Cell, Writer


@dataclass(frozen=True)
class Skill:
    """A behaviour as the family reads it. counts: how we know; ask: the cue and the hand; key: to write down with."""

    key: str
    name: str
    can: str
    counts: tuple[str, ...]
    next: str
    ask: str


@dataclass(frozen=True)
class FamilyText:
    """All the sentences of a page; a part that is left out is empty. made: the day, in words."""

    title: str
    made: str
    words: tuple[str, ...]
    skills: tuple[Skill, ...]
    home: tuple[str, ...]
    outings: tuple[str, ...]
    food: tuple[str, ...]
    safety: tuple[str, ...]

    def sentences(self) -> Iterator[str]:
        """Return what is read, but for the trainer's own words."""
        for skill in self.skills:
            yield from (skill.can, *skill.counts, skill.next, skill.ask)
        yield from (*self.home, *self.outings, *self.food, *self.safety)


_CAN = sentence("It works {place}.")
_UNSURE = sentence("It is learning this. It does not work for sure anywhere yet.")
_NOT_BEGUN = sentence("We have not begun this yet.")
_NEXT = sentence("Next: {step}")
_DONE = sentence("It has reached its aim. Next: new places and new people.")
_ASK = sentence("Say “{cue}” once, and wait.")
_ASK_WITH_HAND = sentence("Say “{cue}” once, and wait. Your hand: {sign}.")
_WHERE = {
    "quiet-room": sentence("in a quiet room"),
    "home": sentence("all over the house"),
    "garden": sentence("in the garden"),
    "quiet-street": sentence("in a quiet street"),
    "busy-place": sentence("in a busy place"),
    "new-place": sentence("in a place it does not know"),
}
_AND = sentence("{first} and {last}")


def write_family_page(
    facts: PackFacts, left_out: frozenset[Part], *, language: Language, unit: WeightUnit, words: str = ""
) -> FamilyText:
    """Return what a family's page says, in its language. left_out: parts that the trainer does not show."""
    tongue = FamilyTongue(language)
    facts = replace(facts, dog=facts.dog or tongue.of("The pup"))
    with translation.override(language.value):
        w = Writer(facts, PackOptions(language=language, unit=unit), tongue)
        return FamilyText(
            title=tongue.of("{dog} today", dog=facts.dog),
            made=_made(tongue, w, facts),
            words=tuple(line.strip() for line in words.splitlines() if line.strip()),
            skills=tuple(_skill(tongue, goal, left_out) for goal in facts.goals),
            home=() if Part.HOME in left_out else _home(tongue, facts),
            outings=() if Part.OUTINGS in left_out else _texts(outing_lines(w)),
            food=() if Part.FOOD in left_out else _texts(food_lines(w)),
            safety=() if Part.SAFETY in left_out else _safety(tongue, facts),
        )


def _made(t: FamilyTongue, w: Writer, facts: PackFacts) -> str:
    """Return of which day the page is: once the pup has gone, our record of it is as old as the hand-over."""
    day, left = w.whole_day(facts.made_on), w.whole_day(facts.handover_on)
    if facts.made_on <= facts.handover_on:
        return t.of("As of {day}, from {trainer}.", day=day, trainer=facts.trainer)
    words = t.of("What it can do: as of {left}, when it came to you from {trainer}.", left=left, trainer=facts.trainer)
    return f"{words} {t.of('The rest: as of {day}.', day=day)}"


def _skill(t: FamilyTongue, goal: GoalFacts, left_out: frozenset[Part]) -> Skill:
    today = Part.TODAY not in left_out
    tried = [one for one in goal.places if one.n]
    return Skill(
        key=goal.behaviour.key,
        name=t.text(goal.behaviour.name),
        can=_can(t, goal) if today else "",
        counts=tuple(_count(t, one) for one in tried) if today and Part.NUMBERS not in left_out else (),
        next=_next(t, goal) if Part.NEXT not in left_out else "",
        ask=_ask(t, goal.behaviour) if Part.HOME not in left_out else "",
    )


def _can(t: FamilyTongue, goal: GoalFacts) -> str:
    if not goal.n_trials:
        return t.said(_NOT_BEGUN)
    works = [t.said(_WHERE[one.place.value]) for one in goal.places if one.standing is Standing.WORKS]
    if not works:
        return t.said(_UNSURE)
    first, last = ", ".join(works[:-1]), works[-1]
    where = t.said(Sentence(_AND.template, {"first": first, "last": last})) if first else last
    return t.said(Sentence(_CAN.template, {"place": where}))


def _count(t: FamilyTongue, one: PlaceCount) -> str:
    place = t.said(PLACES[one.place])
    return t.said(Sentence(COUNTS[one.standing].template, {"place": place, "met": one.n_met, "n": one.n}))


def _next(t: FamilyTongue, goal: GoalFacts) -> str:
    if goal.at_goal:
        return t.said(_DONE)
    steps = goal.behaviour.steps
    following = steps[min(0 if goal.known is None else goal.known + 1, len(steps) - 1)]
    return t.said(Sentence(_NEXT.template, {"step": t.text(following.summary)}))


def _ask(t: FamilyTongue, behaviour: Behaviour) -> str:
    cue, sign = t.text(behaviour.cue), HAND_SIGNS.get(behaviour.key)
    if behaviour.cue.startswith("No word:") or " " in behaviour.cue.strip():
        return cue if cue.endswith(".") else f"{cue}."
    if sign is None:
        return t.said(Sentence(_ASK.template, {"cue": cue}))
    return t.said(Sentence(_ASK_WITH_HAND.template, {"cue": cue, "sign": t.said(sign)}))


def _home(t: FamilyTongue, facts: PackFacts) -> tuple[str, ...]:
    rules = [
        t.of("Say a word once, and wait. Then pay: food, play, a kind word."),
        t.of("Five short tries a day for each word. Stop while it is still fun."),
        t.of("It did not work? Make it easier: nearer, calmer, shorter."),
        t.of("Two misses in a row: stop, play, and try again later."),
        t.of("We do not shout, hit, jerk the lead or take food away."),
    ]
    if facts.release_word:
        rules.append(t.of("“{word}” sets it free again.", word=facts.release_word))
    return (*rules, *facts.house_rules)


def _safety(t: FamilyTongue, facts: PackFacts) -> tuple[str, ...]:
    lines = [
        t.of("It may have eaten something bad: call the vet at once. Do not make it sick unless told to."),
        t.of("It cannot breathe well, falls over, has a fit or a hard belly: call the vet at once."),
        t.of("It growls, snaps or bites, or panics alone: ask the vet, who may send you to a behaviour vet."),
        t.of("Children and the pup: only with a grown-up beside them."),
        t.of("This page is no advice of a vet. Your vet and the law where you live come first."),
    ]
    if facts.poison_phone:
        lines.insert(0, t.of("Poison line: {phone}", phone=facts.poison_phone))
    if facts.vet_phone:
        lines.insert(0, t.of("Vet: {phone}", phone=facts.vet_phone))
    return tuple(lines)


def _texts(cells: list[Cell | str]) -> tuple[str, ...]:
    return tuple(one if isinstance(one, str) else str(one["text"]) for one in cells)
