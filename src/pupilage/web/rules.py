"""How often the two rules err, for the page that shows them side by side."""

from dataclasses import dataclass
from functools import cache

from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.sequential import P_TOO_HARD
from pupilage.core.training.criterion.sets_of_five import operating_characteristics, set_of_five_chances

READY = 0.9


@dataclass(frozen=True)
class RuleFigures:
    """Chances that a rule raises a step that is too hard, and that it raises one the pup is ready for."""

    p_hard: float
    p_ready: float
    ours_raises_hard: float
    ours_raises_ready: float
    set_raises_hard: float
    set_raises_ready: float


@cache
def compare_rules() -> RuleFigures:
    """Return the figures, computed once: our test until it decides, the set of five over one set."""
    return RuleFigures(
        p_hard=P_TOO_HARD,
        p_ready=READY,
        ours_raises_hard=operating_characteristics(P_TOO_HARD).p_raise,
        ours_raises_ready=operating_characteristics(READY).p_raise,
        set_raises_hard=set_of_five_chances(P_TOO_HARD)[Action.RAISE],
        set_raises_ready=set_of_five_chances(READY)[Action.RAISE],
    )
