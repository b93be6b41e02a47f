"""How the weekly weighing and the body condition move the ration: a little, and never a big cut.

Common practice, no source: the steps and limits here are ours. A score of 4 or 5 of 9 is ideal (from memory).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from pupilage.core.care.food.growth import Weighing
from pupilage.core.errors import InvalidInput
from pupilage.core.words import Sentence, sentence

IDEAL = (4, 5)
STEP = 0.05
"""A pup that is too thin gets so much more, one that is too heavy so much less, once a week."""

MOST_CUT = 0.05
MOST_RAISE = 0.15
"""More than this in one week is never proposed; less food than that is a veterinarian's to order."""

FAR_OFF = (2, 8)
"""At these scores and beyond, the veterinarian comes before any change of ours."""

EVERY_DAYS = 6
"""A ration that was set less than this ago stays: gut and scale need the week."""

APART = timedelta(days=5)
"""Two scores are two when at least so far apart."""


@dataclass(frozen=True)
class RationMove:
    """What the ration should become. factor: of the present grams; why: in words; veterinarian: why to go, or None.

    left: the factor that a limit of the week has kept back, for the weeks to come; 1 when nothing was.
    """

    daily_g: float
    factor: float
    left: float
    why: Sentence
    veterinarian: Sentence | None = None

    @property
    def changes(self) -> bool:
        return abs(self.factor - 1.0) > 0.005


def move_ration(
    daily_g: float, weighings: Sequence[Weighing], *, need_factor: float = 1.0, growth: Sentence | None = None
) -> RationMove:
    """Return the ration for the coming week.

    Parameters: daily_g, grams a day now, above 0; weighings in time order; need_factor, the energy that the chosen
    method gives for the weight now over that for the weight when the ration was set; growth, why the veterinarian
    should look at its growth, None when nothing is.
    Model: need_factor · (1.05 when thin, 0.95 when heavy), kept within −5 % and +15 %; a thin pup is never cut and a
    heavy one never raised. Veterinarian: outside 4 and 5 twice, five days apart or more; or at 2, 8 and beyond.
    Raises: InvalidInput for grams or a score that cannot be.
    """
    if not 0.0 < daily_g < float("inf"):
        raise InvalidInput.of("daily_g", "{given} g is no day's food; give grams above 0.", given=daily_g)
    scored = [one for one in weighings if one.condition is not None]
    for one in scored:
        require_condition(one.condition)
    score = scored[-1].condition if scored else None
    asked = _asked_factor(score, need_factor)
    factor = min(1.0 + MOST_RAISE, max(1.0 - MOST_CUT, asked))
    return RationMove(
        daily_g=daily_g * factor,
        factor=factor,
        left=asked / factor,
        why=_why(score, factor),
        veterinarian=growth or _veterinarian(scored),
    )


def not_due(set_on: date | None, weighed_on: date | None, today: date) -> Sentence | None:
    """Return why the ration is not moved today, None when it may be: once a week, after a weighing since it was set."""
    if weighed_on is None or (set_on is not None and weighed_on <= set_on):
        return sentence("Weigh it first, and score its body condition: then the ration may move.")
    if set_on is not None and (today - set_on).days < EVERY_DAYS:
        return sentence("The ration was set {days} days ago; it moves once a week.", days=(today - set_on).days)
    return None


def require_condition(score: int | None, where: str = "condition") -> int | None:
    """Return the score. Raises InvalidInput unless it is a whole number from 1 to 9, or none."""
    if score is not None and not (score == int(score) and 1 <= score <= 9):
        raise InvalidInput.of(where, "Body condition is a number from 1 (starved) to 9 (very fat), not {n}.", n=score)
    return score


def _asked_factor(score: int | None, need_factor: float) -> float:
    if score is not None and score < IDEAL[0]:
        return max(1.0, need_factor) * (1.0 + STEP)
    if score is not None and score > IDEAL[1]:
        return min(1.0, need_factor) * (1.0 - STEP)
    return need_factor


def _why(score: int | None, factor: float) -> Sentence:
    percent = 100.0 * abs(factor - 1.0)
    if score is not None and score < IDEAL[0]:
        return sentence("Body condition {n} of 9, thin: {percent:.0f} % more food.", n=score, percent=percent)
    if score is not None and score > IDEAL[1]:
        return sentence(
            "Body condition {n} of 9, heavy: {percent:.0f} % less food, no more than that in a week.",
            n=score,
            percent=percent,
        )
    if factor > 1.005:
        return sentence("It has grown: {percent:.0f} % more food.", percent=percent)
    if factor < 0.995:
        return sentence(
            "The chosen method asks less of a pup this far grown: {percent:.0f} % less food, no more than that in a "
            "week.",
            percent=percent,
        )
    if score is None:
        return sentence("No body condition written down yet: the ration stays. Score it with the next weighing.")
    return sentence("Body condition {n} of 9: the ration stays.", n=score)


def _veterinarian(scored: Sequence[Weighing]) -> Sentence | None:
    if not scored or scored[-1].condition in IDEAL:
        return None
    last = scored[-1]
    score = last.condition or IDEAL[0]
    if score <= FAR_OFF[0] or score >= FAR_OFF[1]:
        return sentence("Body condition {n} of 9: see the veterinarian before you change its food.", n=score)
    earlier = [one for one in scored if last.at - one.at >= APART]
    if earlier and earlier[-1].condition not in IDEAL:
        return sentence(
            "Body condition outside 4 and 5 twice ({before} and {now} of 9): see the veterinarian.",
            before=earlier[-1].condition or 0,
            now=score,
        )
    return None
