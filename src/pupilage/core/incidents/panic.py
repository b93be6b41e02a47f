"""Panic when left alone: which signs are more than distress, and what is done instead of more absences."""

from collections.abc import Iterable

from pupilage.core.incidents.alone import Sign
from pupilage.core.words import sentence

SEVERE = frozenset({Sign.PANIC, Sign.INJURY, Sign.ESCAPE, Sign.DROOLING})
"""Each by itself ends the absences."""

WITH_DISTRESS = frozenset({Sign.TOILET, Sign.NOT_EATING})
"""A full bladder or a sleepy pup by itself; panic together with one of the next."""

STRONG = frozenset({Sign.BARKING, Sign.HOWLING, Sign.PACING, Sign.SCRATCHING, Sign.PANTING, Sign.DAMAGE})

WHOM = (
    sentence(
        "Ask your veterinarian this week, and a veterinary behaviourist if they send you on: panic can be treated."
    ),
    sentence("Take the film and this record with you. Medicine is the veterinarian's decision alone."),
    sentence("Any injury, a torn nail or a broken tooth among them, is seen by a veterinarian the same day."),
)

MEANWHILE = (
    sentence("Somebody stays with it, in turns: you, the family, a sitter that it knows."),
    sentence("Take it along where it may lie beside you; never leave it in a car that can grow warm."),
    sentence("Do not shut it into a crate to keep it from harm: in panic a pup hurts itself on the bars."),
    sentence("Another dog is no sitter: many that fear being left fear it beside a dog too."),
    sentence("Do not let it cry it out, and do not scold it for what it did alone."),
)
"""Arranging so that nobody has to leave it. Common practice, no source."""


def is_panic(signs: Iterable[Sign]) -> bool:
    """Return whether the signs of one absence, taken together, are panic and not only distress.

    One severe sign; or soiling, or leaving its food, together with more than whining. Source: panic when alone and
    self-injury go to a veterinary behaviourist (from memory); which signs count is common practice, no source.
    """
    seen = frozenset(signs)
    return bool(seen & SEVERE) or bool(seen & WITH_DISTRESS and seen & STRONG)
