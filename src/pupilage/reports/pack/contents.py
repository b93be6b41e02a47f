"""A whole pack as data: what the typesetter gets, and the figures that are in it."""

from dataclasses import dataclass
from typing import Any

from django.utils import translation

from pupilage.core.handover.facts import PackFacts
from pupilage.reports.pack.figures import Figures, Source
from pupilage.reports.pack.framing import frame_of
from pupilage.reports.pack.fridge import fridge_page
from pupilage.reports.pack.home import (
    food_section,
    resident_section,
    safety_section,
    unwanted_section,
    vet_section,
    weeks_section,
)
from pupilage.reports.pack.lessons import lesson
from pupilage.reports.pack.options import PackOptions
from pupilage.reports.pack.tongue import Tongue
from pupilage.reports.pack.writer import Writer, paragraph, texts_of


@dataclass(frozen=True)
class Contents:
    """What a pack holds: `data` for the typesetter, in JSON's types, and the figures by name."""

    data: dict[str, Any]
    figures: Figures


def write_contents(facts: PackFacts, options: PackOptions) -> Contents:
    """Return what a pack says, in the family's language."""
    with translation.override(options.language.value):
        w = Writer(facts, options, Tongue(options.language))
        data = {**_frame(w), "under_figures": [_handover(w)], "fridge": fridge_page(w), "sections": _sections(w)}
        data["figures"] = _appendix(w)
    return Contents(data, w.figures)


def read_through(contents: Contents) -> list[str]:
    """Return what a family reads: every whole sentence of the pack. Headings and words in a table are none.

    They would only flatter the reading grade. The list of figures is for whoever looks into them.
    """
    blocks = [*contents.data["fridge"]["left"], *contents.data["fridge"]["right"], *contents.data["sections"]]
    return [text for text in texts_of(blocks) if text.endswith((".", "!", "?"))]


def _frame(w: Writer) -> dict[str, Any]:
    t, facts = w.tongue, w.facts
    made = facts.made_on
    return frame_of(
        w.options,
        made,
        dog=facts.dog,
        nameless=t.of("The pup"),
        title=t.of("{dog}: hand-over pack", dog=facts.dog),
        under=_under(w),
        author=facts.trainer,
        foot=t.of("Made on {day} by {trainer}", day=w.whole_day(made), trainer=facts.trainer),
    )


def _under(w: Writer) -> str:
    t, facts = w.tongue, w.facts
    day = w.whole_day(facts.handover_on)
    return t.of("For {family}, {day}", family=facts.family, day=day) if facts.family else day


def _handover(w: Writer) -> int:
    on, source = (
        w.facts.handover_on,
        Source("storage.models.Programme", {"field": "handover_on"}, w.tongue.of("As entered.")),
    )
    return w.note_day("stay.handover", on, w.whole_day(on), source)


def _sections(w: Writer) -> list[dict[str, Any]]:
    t, facts = w.tongue, w.facts
    weeks, food = weeks_section(w), food_section(w)
    lessons = [lesson(w, goal) for goal in facts.goals] or [
        {"title": t.of("What it has learned"), "blocks": [paragraph(t.of("No goals were set for this stay."))]}
    ]
    sections = [
        weeks,
        food,
        *lessons,
        unwanted_section(w),
        safety_section(w),
        resident_section(w),
        vet_section(w),
    ]
    if facts.note.strip():
        told = [paragraph(part.strip()) for part in facts.note.split("\n") if part.strip()]
        sections.append({"title": t.of("A word from the trainer"), "blocks": told})
    return sections


def _appendix(w: Writer) -> dict[str, Any]:
    """Return every figure with its name, what it is and where it comes from."""
    t = w.tongue
    return {
        "title": t.of("Where the figures come from"),
        "intro": t.of(
            "The small number beside a figure is its line here. “pupilage explain NAME” shows how it was worked out."
        ),
        "head": [t.of("No."), t.of("Name"), t.of("Value"), t.of("From")],
        "rows": [[str(one.number), one.key, one.shown, one.source.words] for one in w.figures.found.values()],
        "fonts": t.of("Signs that could not be drawn"),
    }
