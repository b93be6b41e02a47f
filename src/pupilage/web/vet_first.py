"""Signs that belong to a veterinarian before any training."""

from django.utils.translation import gettext_lazy as _

SIGNS = {
    "not-eating": _("Does not eat or drink as usual"),
    "vomiting": _("Vomits, or has diarrhoea"),
    "limping": _("Limps, is stiff, or cries when touched or lifted"),
    "tired": _("Much more tired than a pup of this age"),
    "breathing": _("Coughs, or breathes fast or hard at rest"),
    "wee": _("Wees very often, strains, or there is blood"),
    "itching": _("Scratches or licks one place again and again"),
    "freezing": _("Freezes, snarls or bites when touched, or near food"),
    "fear": _("A fear that does not pass within minutes"),
    "sudden": _("Changed suddenly"),
}


def signs_in_words(stored: str) -> list[str]:
    """Return the signs of a dog, one line each; a line that is none of ours is the trainer's own words."""
    return [str(SIGNS.get(line, line)) for line in stored.splitlines() if line.strip()]
