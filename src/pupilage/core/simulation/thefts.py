"""Thefts from the counter. A cause is planted: nearly all come while food stands in reach, few without."""

from collections.abc import Sequence

from numpy.random import Generator

from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.simulation.chance import between, draw_id, happens, pick, whole
from pupilage.core.simulation.stay import DAYS_DONE, Stay
from pupilage.core.simulation.timetable import Activity, ActivityKind

BEHAVIOUR = "counter-stealing"
FROM_MIN, UNTIL_MIN = 8 * 60, 20 * 60
FEWEST, MOST = 12, 16
P_IN_REACH = 0.85
EDGE_MIN = 3.0
"""No theft so close to a nap: the log's nap may begin a little before the timetable's."""

IN_REACH = (
    ("Bread stood at the edge of the table.", "A piece of bread."),
    ("The chopping board was left on the counter.", "A carrot end."),
    ("A bowl of treats stood on the chair.", "Three treats."),
)
OUT_OF_REACH = (("The counter was empty.", "Nothing; it came down by itself."),)


def write_thefts(days: Sequence[Sequence[Activity]], stay: Stay, rng: Generator) -> list[Incident]:
    """Return twelve to sixteen thefts at any time awake of any day, in time order; most have food in reach."""
    numbers = [whole(rng, 0, DAYS_DONE - 1) for _ in range(whole(rng, FEWEST, MOST))]
    return sorted((_theft(days[number], number, stay, rng) for number in numbers), key=lambda theft: theft.at)


def _theft(activities: Sequence[Activity], number: int, stay: Stay, rng: Generator) -> Incident:
    in_reach = happens(rng, P_IN_REACH)
    antecedent, consequence = pick(rng, IN_REACH if in_reach else OUT_OF_REACH)
    return Incident(
        id=draw_id(rng),
        behaviour=BEHAVIOUR,
        at=stay.instant(number, _awake_min(activities, rng)),
        place="kitchen",
        antecedent=antecedent,
        consequence=consequence,
        people_did="Put food away without a word; paid for four paws on the floor.",
        before=(Before.IN_REACH,) if in_reach else (),
        gained=Gain.THING if in_reach else None,
    )


def _awake_min(activities: Sequence[Activity], rng: Generator) -> float:
    """Return a minute of the day at which the pup is up, every one as likely as the next."""
    naps = [one for one in activities if one.kind is ActivityKind.NAP]
    while True:
        at_min = between(rng, FROM_MIN, UNTIL_MIN)
        if not any(nap.start_min - EDGE_MIN <= at_min <= nap.end_min + EDGE_MIN for nap in naps):
            return at_min
