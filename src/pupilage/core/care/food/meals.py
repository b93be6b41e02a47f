"""How many meals a day, and how long a pup may go without one."""

from dataclasses import dataclass

from pupilage.core.care.food.pup import Pup
from pupilage.core.words import Sentence, sentence

MEALS_BELOW_WEEKS = ((12.0, 4), (6 * 30.4375 / 7, 3))
MEALS_LATER = 2
"""From memory: three to four a day at 8 to 12 weeks, three to about six months, then two."""

TOY_MEALS_BELOW_WEEKS = 16.0
TOY_MEALS = 4
TOY_GAP_H = 5.0
"""Common practice, no source: a very small pup keeps four meals to 16 weeks, and waits no longer than this by day."""

NEVER_WITHHOLD = sentence(
    "Every meal is given at its time, whether or not the pup has worked. Food is never held back to make a pup work; a "
    "pup that is too full to care for food rests, or plays for a toy."
)
POUCH_LEFT = sentence("What the pouch still holds in the evening goes into the last bowl.")
NOT_EATING = sentence("A pup that does not eat as usual, or leaves two meals: see the veterinarian the same day.")


@dataclass(frozen=True)
class MealRule:
    """Meals a day; longest_gap_h: between two by day, None where nothing special holds; caution: what to say."""

    n_meals: int
    longest_gap_h: float | None = None
    caution: Sentence | None = None


def meals_at(age_weeks: float) -> int:
    """Return how many meals a day a pup of this age gets, when nothing is known of its size."""
    return next((n for below, n in MEALS_BELOW_WEEKS if age_weeks < below), MEALS_LATER)


def meal_rule(pup: Pup) -> MealRule:
    """Return how many meals a pup gets a day, with the caution of a very small breed."""
    n_meals = meals_at(pup.age_weeks)
    if not pup.is_toy:
        return MealRule(n_meals)
    if pup.age_weeks < TOY_MEALS_BELOW_WEEKS:
        n_meals = max(n_meals, TOY_MEALS)
    caution = sentence(
        "A very small pup can run low on blood sugar when it goes long without food: no more than {hours:.0f} h "
        "between meals by day, one late in the evening and one early. Wobbly, weak, trembling, or not eating for half "
        "a day: a veterinarian at once.",
        hours=TOY_GAP_H,
    )
    return MealRule(max(3, n_meals), TOY_GAP_H, caution)
