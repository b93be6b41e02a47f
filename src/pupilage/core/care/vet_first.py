"""Signs that belong to a veterinarian before any training, ticked at the intake. Stored keys are fixed for good."""

from collections.abc import Mapping

from pupilage.core.words import Sentence, sentence

SIGNS: Mapping[str, Sentence] = {
    "not-eating": sentence("Does not eat or drink as usual"),
    "vomiting": sentence("Vomits, or has diarrhoea"),
    "limping": sentence("Limps, is stiff, or cries when touched or lifted"),
    "tired": sentence("Much more tired than a pup of this age"),
    "breathing": sentence("Coughs, or breathes fast or hard at rest"),
    "wee": sentence("Wees very often, strains, or there is blood"),
    "itching": sentence("Scratches or licks one place again and again"),
    "freezing": sentence("Freezes, snarls or bites when touched, or near food"),
    "fear": sentence("A fear that does not pass within minutes"),
    "sudden": sentence("Changed suddenly"),
}


def split_signs(stored: str) -> tuple[Sentence | str, ...]:
    """Return the signs of a dog, one a line; a line that is none of ours is the trainer's own words."""
    lines = (line.strip() for line in stored.splitlines())
    return tuple(SIGNS.get(line, line) for line in lines if line)
