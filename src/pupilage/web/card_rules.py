"""On the card before a session: what to do when tries go wrong, and when to stop, by the engine's own limits."""

from django.utils.translation import gettext

from pupilage.core.catalogue.behaviour import Behaviour, Scoring
from pupilage.core.training.criterion.advice import MISSES_IN_A_ROW
from pupilage.core.training.criterion.welfare import MAX_SESSION, MAX_SESSION_TRIALS


def card_rules(behaviour: Behaviour, step_key: str) -> list[tuple[str, str]]:
    """Return lines of (when, what to do) for a session of this behaviour at this step."""
    place = behaviour.step_index(step_key) or 0
    easier = behaviour.steps[place - 1].summary if place else ""
    return [
        (gettext("Two in a row miss"), gettext("The next one easier or helped, so that it is won and paid.")),
        (
            gettext("{n} in a row miss").format(n=MISSES_IN_A_ROW),
            gettext("Back to “{step}”.").format(step=easier)
            if easier
            else gettext("Stop; begin again later with more help, or in a calmer place."),
        ),
        (gettext("Stop"), _stop(behaviour)),
        (
            gettext("Stop at once"),
            gettext("Two or more signs of stress, a mouth that hurts, or a pup that does not want the food."),
        ),
    ]


def _stop(behaviour: Behaviour) -> str:
    if behaviour.scoring is Scoring.HOLD:
        return gettext("After {n} holds, or when the pouch is empty; on a good one.").format(n=MAX_SESSION_TRIALS)
    return gettext("After {n} tries or {minutes} minutes, or when the pouch is empty; on a good one.").format(
        n=MAX_SESSION_TRIALS, minutes=MAX_SESSION.seconds // 60
    )
