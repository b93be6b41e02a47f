"""A day in blocks: what a timetable is made of."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from pupilage.core.planning.planned_session import PlannedSession
from pupilage.core.words import Sentence


class BlockKind(StrEnum):
    """What a block of the day is about. Stored values are fixed for good."""

    OUTING = "outing"
    MEAL = "meal"
    SESSION = "session"
    PLAY = "play"
    CHEW = "chew"
    NAP = "nap"
    EXPOSURE = "exposure"
    RESIDENT = "resident"
    """The resident dog's own time; the pup rests."""
    APPOINTMENT = "appointment"
    """The trainer is busy: the pup rests, or comes along where the appointment says so."""
    NIGHT = "night"


class BlockState(StrEnum):
    """What became of a block. Stored values are fixed for good."""

    PLANNED = "planned"
    DONE = "done"
    SKIPPED = "skipped"


@dataclass(frozen=True)
class Block:
    """One block. key: stable inside its day, so that a calendar keeps the entry when its time moves (“outing-3”).

    start, end: aware instants on the 5-minute grid; reason: why it is here and now; bowl_g, pouch_g: of a meal, what
    goes into the bowl, and of the day's food what is kept for the rewards until the next meal.
    """

    key: str
    kind: BlockKind
    start: datetime
    end: datetime
    state: BlockState = BlockState.PLANNED
    reason: Sentence | None = None
    session: PlannedSession | None = None
    bowl_g: float | None = None
    pouch_g: float | None = None
    words: str = ""


@dataclass(frozen=True)
class BrokenRule:
    """A soft rule that the day could not keep: its key, its weight, by how much (in `unit`), and why, in words."""

    rule: str
    weight: float
    amount: float
    unit: str
    reason: Sentence


@dataclass(frozen=True)
class Solution:
    """How good a plan is. status: “optimal”, “within” (the gap is stated) or “first”; gap: 0 to 1, of the cost.

    seconds: spent by the solver.
    """

    status: str
    gap: float
    seconds: float


@dataclass(frozen=True)
class DayPlan:
    """A local day's timetable: blocks in time order, the soft rules it broke, how good it is."""

    day: date
    blocks: tuple[Block, ...]
    broken: tuple[BrokenRule, ...]
    solution: Solution
