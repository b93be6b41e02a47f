"""Sentences of `core` in the language of the request."""

from django.utils.translation import gettext

from pupilage.core.errors import InvalidInput, PupilageError
from pupilage.core.words import Sentence


def said(sentence: Sentence) -> str:
    """Return a sentence in the active language."""
    return sentence.translated(gettext)


def said_problems(error: PupilageError) -> list[str]:
    """Return what is wrong, a sentence each."""
    if isinstance(error, InvalidInput):
        return [said(problem.sentence) for problem in error.problems]
    return [said(error.sentence)]
