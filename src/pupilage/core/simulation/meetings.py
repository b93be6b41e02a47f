"""The pup and the dog of the house: when both were loose, and what went on between them, mostly over a toy."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from numpy.random import Generator

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.incidents.between_dogs import Answered, Apart, BetweenDogs, Resource, Who
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.simulation.chance import between, draw_id, pick, pick_some, whole
from pupilage.core.simulation.stay import DAYS_DONE, Stay
from pupilage.core.simulation.timetable import Activity, ActivityKind

A_DAY = 3
EARLIEST_MIN, LATEST_MIN = 8 * 60, 20 * 60

SEEN = (
    (BetweenDogs(Who.PUP, Resource.TOY, Apart.TOUCHING, Answered.GROWLED, Who.PERSON), "Both on one rope toy."),
    (BetweenDogs(Who.PUP, Resource.TOY, Apart.WITHIN_1_M, Answered.AIR_SNAP, Who.RESIDENT), "A ball lay between them."),
    (BetweenDogs(Who.PUP, Resource.BED, Apart.TOUCHING, Answered.MOVED_AWAY, Who.RESIDENT), "Climbed into the bed."),
    (BetweenDogs(Who.CANNOT_TELL, Resource.NONE, Apart.WITHIN_3_M, Answered.FROZE, Who.PERSON), "Passed on the rug."),
)


@dataclass(frozen=True)
class Meeting:
    """A time at which both dogs were loose."""

    start: datetime
    end: datetime


def write_meetings(
    days: Sequence[Sequence[Activity]], stay: Stay, rng: Generator
) -> tuple[list[CareEvent], list[Incident]]:
    """Return the taps that begin and end the meetings, and three to five incidents and two of leaving it be."""
    meetings = [one for number in range(DAYS_DONE) for one in _meetings(number, days[number], stay, rng)]
    chosen = pick_some(rng, meetings, whole(rng, 5, 7))
    incidents = [_tell(meeting, pick(rng, SEEN), rng) for meeting in chosen]
    left = [_left(one) for one in incidents[:2]]
    taps = [
        CareEvent(draw_id(rng), CareKind.RESIDENT, at, detail)
        for meeting in meetings
        for at, detail in ((meeting.start, CareDetail.START), (meeting.end, CareDetail.END))
    ]
    return taps, [*left, *incidents[2:]]


def _left(incident: Incident) -> Incident:
    return replace(
        incident,
        left_it=True,
        gained=None,
        between=None,
        antecedent="The older dog turned its head away.",
        consequence="The pup turned away too.",
        people_did="Paid both on the floor, apart.",
    )


def _meetings(number: int, activities: Sequence[Activity], stay: Stay, rng: Generator) -> list[Meeting]:
    """Return the day's meetings, each soon after an outing."""
    ends = [one.end_min for one in activities if one.kind is ActivityKind.OUTING]
    spaced: list[float] = []
    for end in ends:
        if EARLIEST_MIN <= end <= LATEST_MIN and (not spaced or end - spaced[-1] > 60):
            spaced.append(end)
    found = []
    for end in sorted(pick_some(rng, spaced, min(A_DAY, len(spaced)))):
        start = stay.instant(number, end + between(rng, 1, 4))
        found.append(Meeting(start, start + timedelta(minutes=between(rng, 15, 35))))
    return found


def _tell(meeting: Meeting, seen: tuple[BetweenDogs, str], rng: Generator) -> Incident:
    what, antecedent = seen
    return Incident(
        id=draw_id(rng),
        behaviour="rough-play-with-dog",
        at=meeting.start + timedelta(minutes=between(rng, 4, 12)),
        place="living room",
        antecedent=antecedent,
        consequence="The game stopped.",
        people_did="Called both away and put a gate between them.",
        before=(Before.RESIDENT_NEAR,),
        gained=Gain.PLAY,
        between=what,
    )
