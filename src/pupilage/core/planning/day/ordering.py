"""Which session comes when, once the times are known: no behaviour twice in a row without a nap between."""

from collections import Counter
from collections.abc import Sequence

from pupilage.core.planning.planned_session import PlannedSession, Purpose


def must_stand_alone(sessions: Sequence[PlannedSession]) -> bool:
    """Whether one behaviour has so many of the sessions that two in one awake block could be the same."""
    counts = Counter(session.behaviour for session in sessions)
    return max(counts.values(), default=0) > (len(sessions) + 1) // 2


def order_sessions(sessions: Sequence[PlannedSession], per_block: Sequence[int]) -> list[list[int]]:
    """Return for each awake block the numbers of its sessions (places in `sessions`), in order.

    per_block: how many sessions each block has room for. The first of the list are placed before later ones; probes
    come as early as can be, since they are to be cold. A place that could only repeat a behaviour stays empty.
    """
    left = list(range(sum(per_block)))[: len(sessions)]
    spare = list(range(len(left), len(sessions)))
    placed: list[list[int]] = []
    last = ""
    for room in per_block:
        block: list[int] = []
        for _ in range(room):
            number = _next(sessions, left, spare, last, apart=bool(block))
            if number is not None:
                block.append(number)
                last = sessions[number].behaviour
        placed.append(block)
    return placed


def _next(
    sessions: Sequence[PlannedSession], left: list[int], spare: list[int], last: str, *, apart: bool
) -> int | None:
    counts = Counter(sessions[number].behaviour for number in left)
    for numbers in (left, spare):
        fit = [number for number in numbers if not (apart and sessions[number].behaviour == last)]
        if fit:
            chosen = min(
                fit,
                key=lambda number: (
                    sessions[number].behaviour == last,
                    sessions[number].purpose is not Purpose.PROBE,
                    -counts[sessions[number].behaviour],
                    number,
                ),
            )
            numbers.remove(chosen)
            return chosen
        if left and not spare:
            return None
    return None
