"""Which session comes when, once the times are known: no behaviour twice in a row without a nap between."""

from collections import Counter
from collections.abc import Sequence

from pupilage.core.planning.planned_session import PlannedSession, Purpose


def must_stand_alone(sessions: Sequence[PlannedSession]) -> bool:
    """Whether one behaviour has so many of the sessions that two in one awake block could be the same."""
    counts = Counter(session.behaviour for session in sessions)
    return max(counts.values(), default=0) > (len(sessions) + 1) // 2


def order_sessions(
    sessions: Sequence[PlannedSession], per_block: Sequence[int], *, last: str = "", keep: bool = False
) -> list[list[int]]:
    """Return for each awake block the numbers of its sessions (places in `sessions`), in order.

    per_block: how many sessions each block has room for. The first of the list are placed before later ones; probes
    come as early as can be, since they are to be cold. A place that could only repeat a behaviour stays empty.
    last: the behaviour trained before, in a first block that goes on; keep: keep to the order of the list.
    """
    chosen = list(range(len(sessions)))[: sum(per_block)]
    spare = list(range(len(chosen), len(sessions)))
    placed: list[list[int]] = []
    for block, room in enumerate(per_block):
        numbers: list[int] = []
        for _ in range(room):
            apart = bool(numbers) or (block == 0 and bool(last))
            number = _next(sessions, chosen, last, apart=apart, keep=keep)
            if number is None:
                number = _next(sessions, spare, last, apart=apart, keep=keep)
            if number is not None:
                numbers.append(number)
                last = sessions[number].behaviour
        placed.append(numbers)
    return placed


def _next(sessions: Sequence[PlannedSession], left: list[int], last: str, *, apart: bool, keep: bool) -> int | None:
    """Take the number of the session that comes best now out of `left`, or return None where none may come."""
    counts = Counter(sessions[number].behaviour for number in left)
    fit = [number for number in left if not (apart and sessions[number].behaviour == last)]

    def rank(number: int) -> tuple[bool, bool, int, int]:
        session = sessions[number]
        often = 0 if keep else -counts[session.behaviour]
        return session.behaviour == last, not keep and session.purpose is not Purpose.PROBE, often, number

    chosen = min(fit, key=rank, default=None)
    if chosen is not None:
        left.remove(chosen)
    return chosen
