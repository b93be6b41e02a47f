"""An incident: what came before, what the dog did, what it got out of it."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from pupilage.core.incidents.between_dogs import BetweenDogs
from pupilage.core.incidents.context import Context
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.teeth import Teeth


class Before(StrEnum):
    """What came just before. Stored values are fixed for good.

    The first five are read from the care log; the next five last, and their time is logged; the rest come and go, and
    are counted each time, with an incident or without.
    """

    WOKE = "woke"
    RELEASED = "released"
    ATE = "ate"
    PLAYED = "played"
    TRAINED = "trained"
    UNWATCHED = "unwatched"
    IN_REACH = "in-reach"
    VISITOR = "visitor"
    RESIDENT_NEAR = "resident"
    BUSY = "busy"
    BELL = "bell"
    NOISE = "noise"
    CHILD = "child"
    STRANGE_DOG = "strange-dog"


FROM_LOG = (Before.WOKE, Before.RELEASED, Before.ATE, Before.PLAYED, Before.TRAINED)
LASTING = (Before.UNWATCHED, Before.IN_REACH, Before.VISITOR, Before.RESIDENT_NEAR, Before.BUSY)
PASSING = (Before.BELL, Before.NOISE, Before.CHILD, Before.STRANGE_DOG)


@dataclass(frozen=True)
class Incident:
    """One unwanted event. `at` is aware UTC; `behaviour` is the key of an unwanted behaviour.

    before: what came just before, of the list; antecedent, the same in free words. gained: what the dog had by it, None
    where nobody saw. people_did holds what people did, honestly: a correction that happened is written here, never
    planned. left_it: it looked and left it; no incident, and counted as the good news it is. near_miss: it began, and
    somebody was in time; no incident either, and not yet the pup's own leaving. slip: somebody's slip (a
    gate left open), noted without blame. teeth: what teeth did to skin, None where there were none.
    in_charge: whose watch it was. context: what the log knew then. between: of one with the resident dog.
    """

    id: str
    behaviour: str
    at: datetime
    place: str = ""
    antecedent: str = ""
    consequence: str = ""
    people_did: str = ""
    supervised: bool = True
    note: str = ""
    before: tuple[Before, ...] = ()
    gained: Gain | None = None
    left_it: bool = False
    slip: bool = False
    teeth: Teeth | None = None
    near_miss: bool = False
    in_charge: str = ""
    context: Context | None = None
    between: BetweenDogs | None = None

    @property
    def happened(self) -> bool:
        """Return whether the unwanted behaviour took place."""
        return not self.left_it and not self.near_miss
