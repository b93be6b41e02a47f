"""Two shapes that make people give up too soon, and one that must stop them: a burst, a return, and harm."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from math import exp

from pupilage.core.incidents.comparison import FIRST_DAYS, p_at_least
from pupilage.core.incidents.days import DayCount, tally_of
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.regression import unevenness
from pupilage.core.incidents.teeth import BROKEN_SKIN, TO_BE_SEEN

UNLIKELY = 0.05
"""Chance, were nothing going on, from which a rise, a fall or a silence is named."""

RETURN_DAYS = 3
"""Watched days from a return on that are weighed."""

NEVER_WAITED_OUT = frozenset({"guarding", "distress-alone"})
"""Behaviours whose rise is never waited out: more of them is more fear, or a bite sooner."""


class Early(StrEnum):
    """What the first days of a phase look like."""

    NOTHING = "nothing"
    RISE = "rise"
    """More often than before, and too few later days to say how it goes on."""
    BURST = "burst"
    """More often than before, then rarer than in those first days."""
    STILL_UP = "still-up"
    """More often than before, and not rarer since."""


@dataclass(frozen=True)
class Return:
    """It came back after quiet days. named: more than the plan's other days would bring by chance.

    quiet_days: watched days without any; since: the first day on which it was back; n: incidents in up to three watched
    days from then.
    """

    quiet_days: int
    since: date
    n: int
    named: bool


class Harm(StrEnum):
    """Why a rise must not be waited out."""

    NONE = "none"
    BITE = "bite"
    """Teeth went through skin since the start."""
    MORE_SKIN = "more-skin"
    """Skin was broken more often than before the start."""
    KIND = "kind"
    """A behaviour whose rise is never waited out."""


def early_days(before: Sequence[DayCount], after: Sequence[DayCount]) -> Early:
    """Return whether the first days of a phase fit a burst.

    Rule: a rise where the first three watched days have more incidents than the earlier rate would bring in one of
    twenty phases; a burst where the days after them, again by one in twenty, have fewer than they; no burst where after
    six days that is not so. How often either is named where there is none: docs/science/change-plans.md, measured by
    `pupilage bench changes`.
    Source: the window of three after Lerman & Iwata (1995), J. Appl. Behav. Anal. 28, 93-94; the rule is our own.
    """
    earlier, first, later = tally_of(before), tally_of(after[:FIRST_DAYS]), tally_of(after[FIRST_DAYS:])
    uneven = unevenness([before])
    if earlier is None or first is None or p_at_least(first, earlier, unevenness=uneven) > UNLIKELY:
        return Early.NOTHING
    if later is not None and p_at_least(first, later, unevenness=uneven) <= UNLIKELY:
        return Early.BURST
    return Early.RISE if len(after) < 2 * FIRST_DAYS else Early.STILL_UP


def find_return(before: Sequence[DayCount], after: Sequence[DayCount]) -> Return | None:
    """Return the newest comeback after quiet days, None without one.

    Rule: quiet days are the watched days in a row without any, so many that the earlier rate would leave them empty in
    at most one of twenty; a comeback is named where the incidents after the first, within three watched days, are more
    than the rate of all other days with the plan would bring in one of twenty. The first is what it was found by, and
    does not count. Error rates as in `early_days`.
    """
    earlier = tally_of(before)
    if earlier is None or earlier.n == 0:
        return None
    rate = earlier.n / earlier.exposure
    start = 0
    found: tuple[int, int] | None = None
    for i, day in enumerate(after):
        if day.n:
            hours = sum(quiet.hours for quiet in after[start:i])
            if exp(-rate * hours) <= UNLIKELY:
                found = (start, i)
            start = i + 1
    return None if found is None else _return(after, *found, unevenness([before]))


def find_harm(behaviour: str, before: Sequence[Incident], since: Sequence[Incident], *, days: tuple[int, int]) -> Harm:
    """Return why a rise of this behaviour must not be waited out; NONE where nothing speaks against it.

    Every incident counts here, also one outside all logged hours, and no chance is reckoned: one bite is enough.
    Parameters: incidents before the start and since; days: calendar days of the two.
    """
    if any(one.teeth in TO_BE_SEEN for one in since):
        return Harm.BITE
    n_before, n_since = (sum(one.teeth in BROKEN_SKIN for one in some) for some in (before, since))
    if n_since and n_since * max(days[0], 1) > n_before * max(days[1], 1):
        return Harm.MORE_SKIN
    return Harm.KIND if behaviour in NEVER_WAITED_OUT else Harm.NONE


def _return(after: Sequence[DayCount], quiet_from: int, back: int, uneven: float) -> Return:
    window = after[back : back + RETURN_DAYS]
    n, hours = sum(day.n for day in window), sum(day.hours for day in window)
    others = tally_of([*after[:back], *after[back + RETURN_DAYS :]])
    named = others is not None and p_at_least(Tally(n - 1, hours), others, unevenness=uneven) <= UNLIKELY
    return Return(back - quiet_from, after[back].day, n, named)
