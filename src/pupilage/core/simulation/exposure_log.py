"""The exposures of the stay: what was proposed is met, the pup takes it as it is made, and two things are too much."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from numpy.random import Generator

from pupilage.core.care.exposures.item import ExposureCatalogue, VetTopic
from pupilage.core.care.exposures.judging import judge_exposures
from pupilage.core.care.exposures.log import Exposure, Response, VetWord
from pupilage.core.care.exposures.proposal import ExposureDay, ExposureProposal, propose_exposures
from pupilage.core.simulation.chance import between, draw_id, happens, pick_some, whole
from pupilage.core.simulation.stay import Stay
from pupilage.core.simulation.timetable import Activity, ActivityKind

N_A_DAY = (2, 4)
FROM_MIN = 8 * 60
UNTIL_MIN = 19 * 60 + 30
HEALTH_CHECK_DAY = 2
"""The day of the scenario's first date with the veterinarian, who says yes to dogs that it knows to be vaccinated."""

P_FOOD = 0.92
P_RECOVERY_TIMED = 0.4


@dataclass(frozen=True)
class Mishap:
    """A meeting that was too much: on which day, with what, and how it went. It ends that day's list."""

    number: int
    item: str
    intensity: int
    distance_m: float
    response: Response
    recovery_s: float
    note: str


MISHAPS = (
    Mishap(8, "vacuum-cleaner", 3, 4.0, Response.AFRAID, 95.0, "Switched on next door while the gate stood open; hid."),
    Mishap(9, "scooter-and-skateboard", 3, 6.0, Response.WORRIED, 40.0, "Came round the corner on cobbles."),
)
"""Both are still held back on the eleventh day: three days after great fear, two after worry."""


@dataclass
class _Pup:
    """How the pup takes things: for each item how much it minds, drawn on first meeting (0 to 1)."""

    rng: Generator
    minds: dict[str, float]

    def take(self, proposal: ExposureProposal, at: datetime) -> Exposure:
        """Return the meeting as it is written down."""
        minds = self.minds.setdefault(proposal.item.key, between(self.rng, 0.0, 1.0))
        response = self._response(proposal.intensity, minds)
        timed = response is Response.UNSURE or happens(self.rng, P_RECOVERY_TIMED)
        seconds = between(self.rng, 5.0, 30.0) if response is Response.UNSURE else between(self.rng, 0.0, 6.0)
        return Exposure(
            id=draw_id(self.rng),
            item=proposal.item.key,
            at=at,
            intensity=proposal.intensity,
            response=response,
            distance_m=proposal.distance_m,
            recovery_s=float(round(seconds)) if timed else None,
            with_food=happens(self.rng, P_FOOD),
        )

    def _response(self, intensity: int, minds: float) -> Response:
        u = between(self.rng, 0.0, 1.0)
        if u < 0.06 + 0.06 * (intensity - 1) + 0.16 * minds:
            return Response.UNSURE
        return Response.CURIOUS if u > 0.6 + 0.06 * (intensity - 1) + 0.2 * minds else Response.CALM


def write_exposures(
    days: Sequence[Sequence[Activity]], catalogue: ExposureCatalogue, stay: Stay, rng: Generator
) -> list[Exposure | VetWord]:
    """Return the log of exposures up to `now`, in time order. rng: a stream of its own, so that nothing else moves."""
    pup = _Pup(rng, {})
    log: list[Exposure | VetWord] = []
    for number, activities in enumerate(days):
        at_veterinarian = number == HEALTH_CHECK_DAY
        if at_veterinarian:
            log.append(VetWord(draw_id(rng), VetTopic.DOGS, stay.instant(number, 12 * 60 + 10)))
        for at in _moments(activities, number, stay, rng):
            today = judge_exposures(log, catalogue, now=at, zone=stay.zone)
            proposals = propose_exposures(today, ExposureDay(at_veterinarian=at_veterinarian), limit=1)
            log += [pup.take(proposal, at) for proposal in proposals]
        log += [_mishap(one, stay, rng) for one in MISHAPS if one.number == number]
    return [entry for entry in log if entry.at <= stay.now]


def _moments(activities: Sequence[Activity], number: int, stay: Stay, rng: Generator) -> list[datetime]:
    """Return the instants of a day's meetings: when the pup is awake, after an outing or play."""
    awake = [
        one.end_min
        for one in activities
        if one.kind in (ActivityKind.OUTING, ActivityKind.PLAY) and FROM_MIN <= one.start_min <= UNTIL_MIN
    ]
    chosen = pick_some(rng, awake, whole(rng, *N_A_DAY))
    return [stay.instant(number, minute + between(rng, 1.0, 3.0)) for minute in sorted(chosen)]


def _mishap(one: Mishap, stay: Stay, rng: Generator) -> Exposure:
    """Return a meeting that was too much, in the evening, after what was planned for the day."""
    return Exposure(
        id=draw_id(rng),
        item=one.item,
        at=stay.instant(one.number, UNTIL_MIN + 20 + between(rng, 0.0, 15.0)),
        intensity=one.intensity,
        response=one.response,
        distance_m=one.distance_m,
        recovery_s=one.recovery_s,
        with_food=True,
        note=one.note,
    )
