"""What is left of the day's weighed food after meals, the pieces paid in training and the treats."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pupilage.core.care.food.rewards import Reward, grams_in, treat_limit_kcal, treats_kcal
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.words import Sentence, sentence


@dataclass(frozen=True)
class RunningTotal:
    """The day so far. Grams of the day's food, kcal of what is outside it.

    left_g: may be below 0; treats_g: what the treats took off the day's food; treat_limit_kcal: None while the food's
    energy is unknown; uncounted: treats given whose energy nobody has said; n_unweighed: meals without their grams.
    """

    daily_g: float
    left_g: float
    treats_kcal: float = 0.0
    treats_g: float = 0.0
    treat_limit_kcal: float | None = None
    uncounted: tuple[str, ...] = ()
    n_unweighed: int = 0

    @property
    def over_limit(self) -> bool:
        return self.treat_limit_kcal is not None and self.treats_kcal > self.treat_limit_kcal

    @property
    def notes(self) -> tuple[Sentence, ...]:
        """What must be said beside the figures: treats against the tenth, and what is not in the sum."""
        return tuple(note for note in (_treats(self), _uncounted(self), _unweighed(self)) if note is not None)


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


def total_so_far(
    daily_g: float, kcal_per_100g: float | None, meals_g: Iterable[float | None], pieces: Iterable[tuple[Reward, int]]
) -> RunningTotal:
    """Return the running total of a day.

    Parameters: kcal_per_100g, of the day's food, None where the label says nothing; meals_g, None for one that nobody
    weighed; pieces as (reward, number).
    Model: as `ration_left`, less what the treats bring in energy, but never more than a tenth: at least nine tenths of
    the day are complete food (1000 kcal: 100 of treats, 900 of food). Treats beyond the limit are said, and the pup's
    meals stay.
    Raises: InvalidInput with every figure that cannot be.
    """
    given, meals = list(pieces), list(meals_g)
    n_unweighed = sum(grams is None for grams in meals)
    weighed = [grams for grams in meals if grams is not None]
    left = ration_left(daily_g, weighed, [(one.piece_g, n) for one, n in given if one.from_ration])
    treats = [(one, n) for one, n in given if not one.from_ration and one.is_food and n]
    uncounted = tuple(sorted({one.name for one, _ in treats if one.kcal_per_100g is None}))
    energy = treats_kcal(treats)
    if not kcal_per_100g:
        return RunningTotal(daily_g, left, energy, uncounted=uncounted, n_unweighed=n_unweighed)
    limit = treat_limit_kcal(daily_g * kcal_per_100g / 100.0)
    treats_g = grams_in(min(energy, limit), kcal_per_100g)
    return RunningTotal(daily_g, left - treats_g, energy, treats_g, limit, uncounted, n_unweighed)


def ration_sentence(left_g: float) -> Sentence:
    """Return what is left, in words; an overdrawn ration is said, not hidden."""
    if left_g >= 0.0:
        return sentence("{grams:.0f} g of today's food left.", grams=left_g)
    return sentence("{grams:.0f} g more than today's food given; tomorrow is weighed as always.", grams=-left_g)


def _uncounted(total: RunningTotal) -> Sentence | None:
    if not total.uncounted:
        return None
    return sentence("Not counted, because its energy is unknown: {names}.", names=", ".join(total.uncounted))


def _unweighed(total: RunningTotal) -> Sentence | None:
    if not total.n_unweighed:
        return None
    return sentence("Meals without their grams, not in this sum: {n}.", n=total.n_unweighed)


def _treats(total: RunningTotal) -> Sentence | None:
    if not total.treats_kcal or total.treat_limit_kcal is None:
        return None
    if total.over_limit:
        return sentence(
            "Treats: {kcal:.0f} kcal, over the {limit:.0f} that are a tenth of the day. Pay out of the ration from now "
            "on; its meals stay.",
            kcal=total.treats_kcal,
            limit=total.treat_limit_kcal,
        )
    return sentence(
        "Treats: {kcal:.0f} of at most {limit:.0f} kcal, a tenth of the day.",
        kcal=total.treats_kcal,
        limit=total.treat_limit_kcal,
    )


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
