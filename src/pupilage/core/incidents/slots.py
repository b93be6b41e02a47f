"""Parts of a time axis, each with its incidents and its free hours, and whether one of them stands out from chance."""

from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.incidents.antecedents import FALSE_SHARE, FEWEST
from pupilage.core.incidents.rates import Interval, Tally, believed_ratio, p_no_difference, rate_of
from pupilage.core.words import Sentence, sentence

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
class Standout:
    """A slot with more incidents than chance gives. ratio: its rate to the others'; p: adjusted for all looked at."""

    slot: Slot
    ratio: Interval
    p: float


@dataclass(frozen=True)
class Curve:
    """The rate along an axis. says: in one sentence what it shows and how sure that is."""

    slots: tuple[Slot, ...]
    standout: Standout | None
    says: Sentence

    @property
    def n(self) -> int:
        return sum(slot.n for slot in self.slots)

    @property
    def is_drawn(self) -> bool:
        """Whether there is enough for a picture: as many incidents as a cause takes, and two slots to compare."""
        return is_enough(self.slots)


def is_enough(slots: Sequence[Slot]) -> bool:
    """Return whether there are incidents enough, and slots to compare."""
    return sum(slot.n for slot in slots) >= FEWEST and sum(slot.rate is not None for slot in slots) > 1


def slot_of(start: int, end: int, *, n: int, hours: float) -> Slot:
    """Return the slot with its rate and Garwood's exact limits."""
    return Slot(start, end, n, hours, rate_of(Tally(n, hours)) if hours >= LEAST_HOURS else None)


def find_standout(slots: Sequence[Slot], *, n_looked: int) -> Standout | None:
    """Return the slot whose rate is above that of all the others together, None where chance may have made it.

    Model: each slot against the rest, exact given the sum of incidents (`rates.p_no_difference`); the smallest p times
    the number of slots looked at (Bonferroni: it holds however the slots hang together) must be at most 0.05. The
    ratio is the believed one, finite where the rest has no incident.
    Parameters: n_looked, all slots of all axes that were looked at in one answer.
    """
    compared = [slot for slot in slots if slot.rate is not None]
    n_all, hours_all = sum(slot.n for slot in compared), sum(slot.hours for slot in compared)
    if n_all < FEWEST or len(compared) < 2:
        return None
    found: list[Standout] = []
    for slot in compared:
        own, rest = Tally(slot.n, slot.hours), Tally(n_all - slot.n, hours_all - slot.hours)
        if own.n / own.exposure > rest.n / rest.exposure:
            p = min(1.0, n_looked * p_no_difference(own, rest))
            found.append(Standout(slot, believed_ratio(own, rest), p))
    best = min(found, key=lambda one: one.p, default=None)
    return best if best is not None and best.p <= FALSE_SHARE else None


def say_too_few(n: int) -> Sentence:
    """Return that so few incidents cannot tell."""
    if n == 0:
        return sentence("No incident in watched hours yet: nothing can be told.")
    return sentence("{n} incidents cannot tell; {least} are the fewest that can.", n=n, least=FEWEST)
