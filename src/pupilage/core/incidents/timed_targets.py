"""Which behaviours a timer with paid stretches suits, and how often is often enough for it."""

from pupilage.core.words import Sentence, sentence

UNSUITED = {
    "distress-alone": sentence(
        "A pup in distress needs shorter absences and a veterinarian's advice, not a timer; see the page on time alone."
    ),
    "guarding": sentence("Guarding goes to a veterinary behaviourist; trade, and keep apart until then."),
    "house-soiling": sentence("Accidents are prevented by outings in time; see the page on outings."),
}
"""Common practice, no source: where waiting for a stretch to pass would leave the cause as it is."""

LONGEST_MEAN_MIN = 20.0
"""Beyond this nobody waits with a timer. Common practice, no source."""


def say_too_rare(between_min: float) -> Sentence | None:
    """Return a word of advice where the behaviour comes too seldom for a timer, else None."""
    if between_min <= LONGEST_MEAN_MIN:
        return None
    return sentence(
        "It comes about every {n:.0f} minutes: too seldom for a timer. Arrange the place, and pay what replaces it.",
        n=between_min,
    )
