"""From counts to sessions: what each is for, where and with whom, and their order in the day."""

from collections.abc import Iterable, Sequence

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.placement import Placement
from pupilage.core.planning.programme.plan import FAMILY, NEW_PERSON, PlanDay
from pupilage.core.planning.programme.prospects import Prospect
from pupilage.core.planning.programme.room import DayRoom, minutes_of
from pupilage.core.planning.programme.rules import ELSEWHERE_SESSIONS, PROBE_MINUTES, PROBE_TRIES, SURE, TRIES_A_SESSION
from pupilage.core.planning.programme.tasks import PlanProblem

PLACES = tuple(Place)


def lay_out(
    prospects: Sequence[Prospect],
    rooms: Sequence[DayRoom],
    problem: PlanProblem,
    placement: Placement,
    p_with: Sequence[float],
) -> tuple[PlanDay, ...]:
    """Return the days with their sessions in order: cold probes first, and no behaviour twice in a row.

    p_with: each goal's chance with its sessions, by which a goal counts as sure.
    """
    rows = [_purposes(one, problem, placement, p) for one, p in zip(prospects, p_with, strict=True)]
    days = []
    for day, room in enumerate(rooms):
        todo: dict[str, list[PlannedSession]] = {}
        probes = []
        for i, (one, row) in enumerate(zip(prospects, rows, strict=True)):
            held = problem.tasks[i].held if day == 0 else 0
            todo[one.behaviour.key] = [_session(one, purpose, who, room) for purpose, who in row[day]][held:]
            if placement.probes[one.behaviour.key] == day:
                probes.append(_session(one, Purpose.PROBE, FAMILY, room))
        days.append(PlanDay(room.day, (*probes, *alternated(todo.values())), room.n_sessions, room.rule))
    return tuple(days)


def alternated(groups: Iterable[Sequence[PlannedSession]]) -> list[PlannedSession]:
    """Return the sessions of all behaviours in an order in which none stands twice in a row, where there is one."""
    left = {group[0].behaviour: list(group) for group in groups if group}
    order: list[PlannedSession] = []
    while left:
        last = order[-1].behaviour if order else None
        keys = [key for key in left if key != last] or list(left)
        key = max(keys, key=lambda one: len(left[one]))
        order.append(left[key].pop(0))
        if not left[key]:
            del left[key]
    return order


def _purposes(
    one: Prospect, problem: PlanProblem, placement: Placement, p_with: float
) -> list[list[tuple[Purpose, str]]]:
    """Return what each session of a goal is for, and who cues, by day."""
    counts = placement.sessions[one.behaviour.key]
    plain = (Purpose.UPKEEP if one.at_target else Purpose.TEACH, "")
    row = [[plain] * n for n in counts]
    if p_with < SURE:
        return row
    last = [(day, i) for day in problem.elsewhere_days() for i in range(counts[day])]
    for turn, (day, i) in enumerate(reversed(last[-ELSEWHERE_SESSIONS:])):
        row[day][i] = (Purpose.ELSEWHERE, NEW_PERSON if turn % 2 else "")
    return row


def _session(one: Prospect, purpose: Purpose, who: str, room: DayRoom) -> PlannedSession:
    is_taught = purpose in (Purpose.TEACH, Purpose.UPKEEP)
    step = one.behaviour.steps[one.step if is_taught else one.target]
    criterion = step.criterion
    new_place = purpose is Purpose.ELSEWHERE and not who
    tries = PROBE_TRIES if purpose is Purpose.PROBE else TRIES_A_SESSION
    return PlannedSession(
        behaviour=one.behaviour.key,
        step=step.key,
        purpose=purpose,
        minutes=minutes_of(one.behaviour, step, PROBE_MINUTES if purpose is Purpose.PROBE else room.minutes),
        place=_next_place(criterion.place) if new_place else criterion.place,
        distraction=criterion.distraction,
        who=who,
        pieces=tries,
    )


def _next_place(place: Place) -> Place:
    return PLACES[min(len(PLACES) - 1, PLACES.index(place) + 1)]
