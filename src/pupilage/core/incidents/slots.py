"""Parts of a time axis, each with its incidents and its free hours, and whether one of them stands out from chance."""

from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.incidents.antecedents import FALSE_SHARE, FEWEST
from pupilage.core.incidents.rates import Interval, Tally, believed_ratio, p_no_difference, rate_of
from pupilage.core.words import Figure, Sentence, sentence

LEAST_HOURS = 1.0
"""Free hours below which no rate is given."""


@dataclass(frozen=True)
class Slot:
    """A part of the axis, from start up to end (hours of the day, or minutes since something).

    n: incidents in it; hours: free hours watched in it; rate: incidents a free hour, None with under an hour watched.
    """

    start: int
    end: int
    n: int
    hours: float
    rate: Interval | None


@dataclass(frozen=True)
class Rise:
    """The slot that is least like chance of those above the rest. ratio: its rate to the others'.

    p: adjusted for all slots looked at.
    """

    slot: Slot
    ratio: Interval
    p: float

    @property
    def stands_out(self) -> bool:
        return self.p <= FALSE_SHARE


@dataclass(frozen=True)
class Curve:
    """The rate along an axis. rise: where there is enough to compare; says: what it shows and how sure that is."""

    slots: tuple[Slot, ...]
    rise: Rise | None
    says: Sentence

    @property
    def standout(self) -> Slot | None:
        """The slot that stands out from chance."""
        return self.rise.slot if self.rise is not None and self.rise.stands_out else None

    @property
    def is_drawn(self) -> bool:
        """Whether there is enough for a picture: as many incidents as a cause takes, and two slots to compare."""
        return self.rise is not None


def slot_of(start: int, end: int, *, n: int, hours: float) -> Slot:
    """Return the slot with its rate and Garwood's exact limits."""
    return Slot(start, end, n, hours, rate_of(Tally(n, hours)) if hours >= LEAST_HOURS else None)


def find_rise(slots: Sequence[Slot], *, n_looked: int) -> Rise | None:
    """Return the slot whose rate is above that of all the others together, the least like chance; None with too few.

    Model: each slot against the rest, exact given the sum of incidents (`rates.p_no_difference`); the smallest p times
    the number of slots looked at (Bonferroni: it holds however the slots hang together). The ratio is the believed
    one, finite where the rest has no incident.
    Parameters: n_looked, all slots of all axes that were looked at in one answer.
    """
    compared = _compared(slots)
    n_all, hours_all = sum(slot.n for slot in compared), sum(slot.hours for slot in compared)
    if n_all < FEWEST or len(compared) < 2:
        return None
    found: list[Rise] = []
    for slot in compared:
        own, rest = Tally(slot.n, slot.hours), Tally(n_all - slot.n, hours_all - slot.hours)
        if own.n / own.exposure >= (1.0 - 1e-9) * rest.n / rest.exposure:
            p = min(1.0, n_looked * p_no_difference(own, rest))
            found.append(Rise(slot, believed_ratio(own, rest), p))
    return min(found, key=lambda one: (one.p, -one.ratio.value), default=None)


def figures_of(rise: Rise) -> dict[str, Figure]:
    """Return the figures of a sentence about a rise."""
    ratio = rise.ratio
    return {
        "start": rise.slot.start,
        "end": rise.slot.end,
        "ratio": ratio.value,
        "low": ratio.low,
        "high": ratio.high,
    }


def say_too_few(slots: Sequence[Slot]) -> Sentence:
    """Return that so few incidents cannot tell."""
    n = sum(slot.n for slot in _compared(slots))
    if n == 0:
        return sentence("No incident in watched hours yet: nothing can be told.")
    if n >= FEWEST:
        return sentence("No two parts of it were watched for an hour yet: there is nothing to compare.")
    return sentence("{n} incidents cannot tell; {least} are the fewest that can.", n=n, least=FEWEST)


def _compared(slots: Sequence[Slot]) -> list[Slot]:
    return [slot for slot in slots if slot.rate is not None]
