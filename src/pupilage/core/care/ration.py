"""What is left of the day's weighed food after meals and the pieces paid in training."""

import math
from collections.abc import Iterable, Sequence

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.words import Sentence, sentence


def ration_left(daily_g: float, meals_g: Iterable[float], pieces: Iterable[tuple[float, int]]) -> float:
    """Return the grams of the day's ration that are left; below 0 when more was fed.

    Model: daily − sum of meals − sum of piece weight × number.
    Parameters: daily_g above 0; meals_g in grams; pieces as (grams a piece, number), those out of the ration only.
    Raises: InvalidInput with every figure that cannot be.
    Source: arithmetic; common practice is to take training food out of the weighed ration.
    """
    meals, paid = list(meals_g), list(pieces)
    _require_figures(daily_g, meals, paid)
    return daily_g - math.fsum(meals) - math.fsum(piece_g * n for piece_g, n in paid)


def ration_sentence(left_g: float) -> Sentence:
    """Return what is left, in words; an overdrawn ration is said, not hidden."""
    if left_g >= 0.0:
        return sentence("{grams:.0f} g of today's food left.", grams=left_g)
    return sentence("{grams:.0f} g more than today's food given: feed less at the next meal.", grams=-left_g)


def _require_figures(daily_g: float, meals: Sequence[float], paid: Sequence[tuple[float, int]]) -> None:
    problems: list[Problem] = []
    if not (math.isfinite(daily_g) and daily_g > 0.0):
        problems.append(Problem("daily_g", "{given} g is no day's food; give grams above 0.", given=daily_g))
    for grams in meals:
        if not (math.isfinite(grams) and grams >= 0.0):
            problems.append(Problem("meals_g", "A meal of {given} g cannot be; give 0 or more.", given=grams))
    for piece_g, n in paid:
        if not (math.isfinite(piece_g) and piece_g >= 0.0 and n >= 0):
            problems.append(
                Problem("pieces", "{n} pieces of {given} g cannot be; give 0 or more of both.", n=n, given=piece_g)
            )
    if problems:
        raise InvalidInput(problems)
