"""Care events: what the pup ate, where it went, when it slept. Append-only, like a session's log.

| kind | detail | amount |
| --- | --- | --- |
| outing | wee / poo / both / nothing | – |
| indoors | wee / poo (an accident) | – |
| meal | "" | grams eaten |
| drink, nap, crate, play, chew | start / end, or "" when only the moment is known | – |
| unwatched, in-reach, visitor, resident, busy | start / end: what lasts around the pup | – |
| withdrawn | "" (points at the event that is taken back) | – |
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class CareKind(StrEnum):
    """What a care event is about. Stored values are fixed for good."""

    OUTING = "outing"
    INDOORS = "indoors"
    MEAL = "meal"
    DRINK = "drink"
    NAP = "nap"
    CRATE = "crate"
    PLAY = "play"
    CHEW = "chew"
    UNWATCHED = "unwatched"
    IN_REACH = "in-reach"
    """Food or things worth taking stand where the pup can reach them."""
    VISITOR = "visitor"
    RESIDENT = "resident"
    """The resident dog is loose with the pup."""
    BUSY = "busy"
    """The person in charge does something else."""
    WITHDRAWN = "withdrawn"


class CareDetail(StrEnum):
    """The one word that goes with a care event. Stored values are fixed for good."""

    PLAIN = ""
    WEE = "wee"
    POO = "poo"
    BOTH = "both"
    NOTHING = "nothing"
    START = "start"
    END = "end"


DETAILS_OF: dict[CareKind, tuple[CareDetail, ...]] = {
    CareKind.OUTING: (CareDetail.WEE, CareDetail.POO, CareDetail.BOTH, CareDetail.NOTHING),
    CareKind.INDOORS: (CareDetail.WEE, CareDetail.POO, CareDetail.BOTH),
    CareKind.MEAL: (CareDetail.PLAIN,),
    CareKind.DRINK: (CareDetail.PLAIN,),
    CareKind.NAP: (CareDetail.START, CareDetail.END),
    CareKind.CRATE: (CareDetail.START, CareDetail.END),
    CareKind.PLAY: (CareDetail.START, CareDetail.END, CareDetail.PLAIN),
    CareKind.CHEW: (CareDetail.START, CareDetail.END, CareDetail.PLAIN),
    CareKind.UNWATCHED: (CareDetail.START, CareDetail.END),
    CareKind.IN_REACH: (CareDetail.START, CareDetail.END),
    CareKind.VISITOR: (CareDetail.START, CareDetail.END),
    CareKind.RESIDENT: (CareDetail.START, CareDetail.END),
    CareKind.BUSY: (CareDetail.START, CareDetail.END),
    CareKind.WITHDRAWN: (CareDetail.PLAIN,),
}


@dataclass(frozen=True)
class CareEvent:
    """One entry of the care log. `at` is aware UTC; `amount_g` grams eaten, for a meal."""

    id: str
    kind: CareKind
    at: datetime
    detail: CareDetail = CareDetail.PLAIN
    amount_g: float | None = None
    note: str = ""
    withdraws: str | None = None


def standing(events: list[CareEvent]) -> list[CareEvent]:
    """Return the events that were not taken back, in time order."""
    withdrawn = {event.withdraws for event in events if event.kind is CareKind.WITHDRAWN}
    kept = [e for e in events if e.kind is not CareKind.WITHDRAWN and e.id not in withdrawn]
    return sorted(kept, key=lambda event: (event.at, event.id))
