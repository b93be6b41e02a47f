"""The incidents of the stay but for thefts. One pattern is planted: most come unwatched, just after evening play."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from numpy.random import Generator

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.stretches import Stretch, union
from pupilage.core.simulation.chance import between, draw_id, pick, pick_some, whole
from pupilage.core.simulation.stay import Stay
from pupilage.core.simulation.timetable import Activity, ActivityKind

AROUND = (
    (Before.UNWATCHED, CareKind.UNWATCHED),
    (Before.IN_REACH, CareKind.IN_REACH),
    (Before.VISITOR, CareKind.VISITOR),
)

A_DAY = {CareKind.IN_REACH: 3}
"""Stretches a day in which nothing happens; of what is not named, one."""

EVENING_MIN = 18 * 60
MORNING_MIN = 8 * 60
"""Neighbours, visitors and steps on the stairs come no earlier."""


@dataclass(frozen=True)
class Story:
    """What an incident of one kind looks like, and after which activity it comes."""

    behaviour: str
    after: ActivityKind
    place: str
    antecedent: str
    consequence: str
    people_did: str
    gained: Gain
    before: tuple[Before, ...]
    supervised: bool = True


PLANTED = (
    Story(
        "mouthing-hands",
        ActivityKind.PLAY,
        "living room",
        "Play had just ended; the trainer was in the kitchen, and nobody minded the pup.",
        "A guest pulled the hands away, and the pup came after them.",
        "The trainer came back, gave a chew, and let the pup rest behind the gate.",
        Gain.PLAY,
        (Before.PLAYED, Before.UNWATCHED),
        supervised=False,
    ),
    Story(
        "chewing-household-things",
        ActivityKind.PLAY,
        "living room",
        "Play had just ended; nobody was in the room.",
        "A minute of chewing on a table leg.",
        "Swapped for a chew; shoes and cables put away.",
        Gain.RELIEF,
        (Before.PLAYED, Before.UNWATCHED),
        supervised=False,
    ),
)

SCATTERED = (
    Story(
        "mouthing-hands",
        ActivityKind.SESSION,
        "kitchen",
        "Reached for the food in the hand.",
        "The hand closed; no food.",
        "Opened the hand again when the mouth was soft.",
        Gain.THING,
        (Before.TRAINED,),
    ),
    Story(
        "counter-stealing",
        ActivityKind.MEAL,
        "kitchen",
        "Bread stood at the edge of the table.",
        "A piece of bread.",
        "Put food out of reach; paid for four paws on the floor.",
        Gain.THING,
        (Before.ATE, Before.IN_REACH, Before.UNWATCHED),
        supervised=False,
    ),
    Story(
        "barking-at-door",
        ActivityKind.CHEW,
        "hall",
        "Steps on the stairs outside.",
        "The steps went away.",
        "Scattered some kibble on the mat, and waited for quiet.",
        Gain.ESCAPE,
        (Before.NOISE,),
    ),
    Story(
        "jumping-up",
        ActivityKind.OUTING,
        "front door",
        "A neighbour bent down to say hello.",
        "Was stroked while jumping.",
        "Asked the neighbour to wait for four paws on the floor.",
        Gain.ATTENTION,
        (Before.VISITOR,),
    ),
)


def story_behaviours() -> list[str]:
    """Return the keys of the unwanted behaviours that the stories need."""
    return sorted({story.behaviour for story in (*PLANTED, *SCATTERED)})


def write_incidents(days: Sequence[Sequence[Activity]], stay: Stay, rng: Generator) -> list[Incident]:
    """Return five to seven incidents after evening play and three to six others, in time order."""
    planted = [_tell(pick(rng, PLANTED), number, days, stay, rng) for number in _days(rng, stay, 5, 7)]
    others = [_tell(pick(rng, SCATTERED), number, days, stay, rng) for number in _days(rng, stay, 3, 6)]
    return sorted((*planted, *others), key=lambda incident: incident.at)


def write_left_alone(days: Sequence[Sequence[Activity]], stay: Stay, rng: Generator) -> list[Incident]:
    """Return three to five times at which the pup looked at the table and left it, in time order."""
    story = next(story for story in SCATTERED if story.behaviour == "counter-stealing")
    left = [_tell(story, number, days, stay, rng) for number in _days(rng, stay, 3, 5)]
    return sorted((_left(one) for one in left), key=lambda incident: incident.at)


def _left(incident: Incident) -> Incident:
    return replace(
        incident,
        gained=None,
        left_it=True,
        supervised=True,
        consequence="It turned away.",
        people_did="Paid with three pieces on the floor.",
    )


def write_around(incidents: Sequence[Incident], stay: Stay, rng: Generator) -> list[CareEvent]:
    """Return the stretches around the pup that the trainer taps: unwatched, food in reach, and others like them.

    Around each incident that had it, and in more stretches a day in which nothing happened.
    """
    around: dict[CareKind, list[Stretch]] = {kind: [] for _before, kind in AROUND}
    for incident in incidents:
        for before, kind in AROUND:
            if before in incident.before:  # the trainer comes back because of it
                start = incident.at - timedelta(minutes=between(rng, 4, 12))
                around[kind].append(Stretch(start, start + timedelta(minutes=between(rng, 12.2, 13))))
    for number in range(stay.n_done):
        for _before, kind in AROUND:
            for _ in range(A_DAY.get(kind, 1)):
                start = stay.instant(number, between(rng, 9 * 60, 19 * 60))
                around[kind].append(Stretch(start, start + timedelta(minutes=between(rng, 10, 30))))
    return [
        CareEvent(draw_id(rng), kind, at, detail)
        for kind, stretches in around.items()
        for stretch in union(stretches)
        for at, detail in ((stretch.start, CareDetail.START), (stretch.end, CareDetail.END))
    ]


def _days(rng: Generator, stay: Stay, low: int, high: int) -> list[int]:
    return pick_some(rng, range(stay.n_done), whole(rng, low, high))


def _tell(story: Story, number: int, days: Sequence[Sequence[Activity]], stay: Stay, rng: Generator) -> Incident:
    """Return the incident: shortly after an activity of the story's kind, the evening one for evening play."""
    moments = _moments(story, days[number])
    at_min = pick(rng, moments) + between(rng, 0.4, 1.6)
    return Incident(
        id=draw_id(rng),
        behaviour=story.behaviour,
        at=stay.instant(number, at_min),
        place=story.place,
        antecedent=story.antecedent,
        consequence=story.consequence,
        people_did=story.people_did,
        supervised=story.supervised,
        before=story.before,
        gained=story.gained,
    )


def _moments(story: Story, activities: Sequence[Activity]) -> list[float]:
    """Return the minutes at which the story can happen; a day without such a moment offers any outing."""
    earliest_min = EVENING_MIN if story in PLANTED else MORNING_MIN
    moments = [a.end_min for a in activities if a.kind is story.after and a.start_min >= earliest_min]
    return moments or [a.end_min for a in activities if a.kind is ActivityKind.OUTING]
