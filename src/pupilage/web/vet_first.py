"""Signs that belong to a veterinarian before any training, in the words of the pages."""

from django.utils.translation import gettext_lazy

from pupilage.core.care import vet_first
from pupilage.web.words import said

SIGNS = {key: gettext_lazy(words.template) for key, words in vet_first.SIGNS.items()}


def signs_in_words(stored: str) -> list[str]:
    """Return the signs of a dog, one line each; a line that is none of ours is the trainer's own words."""
    return [one if isinstance(one, str) else said(one) for one in vet_first.split_signs(stored)]
