"""Why a day cannot be planned: which rules clash, in words, and what would help."""

from collections.abc import Iterator
from itertools import pairwise

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.planning.day.frame import GRID_MIN, local
from pupilage.core.planning.day.task import SHORTEST_NAP, Busy, Task, clusters


def explain(task: Task) -> InvalidInput:
    """Return the error for a task that has no plan, with everything found that clashes."""
    return InvalidInput([*known(task)] or [*_too_tight(task)])


def known(task: Task) -> Iterator[Problem]:
    """Yield the single rules and appointments that make every plan impossible."""
    yield from _limits(task)
    yield from _bounds(task)
    yield from _appointments(task)


def _limits(task: Task) -> Iterator[Problem]:
    sizes = task.sizes
    least = sizes.outing + sizes.meal
    if sizes.until_out < least:
        yield Problem(
            "limits",
            "While awake the pup is to be taken out every {given} minutes, and an outing and a meal alone take "
            "{least}; accept a higher risk or shorten the meal.",
            given=task.frame.limits.awake_min,
            least=least * GRID_MIN,
        )
    least = sizes.outing + SHORTEST_NAP
    if sizes.until_out_resting < least:
        yield Problem(
            "limits",
            "Resting, the pup is to be taken out every {given} minutes, and an outing and the shortest nap "
            "take {least}; accept a higher risk.",
            given=task.frame.limits.resting_min,
            least=least * GRID_MIN,
        )


def _bounds(task: Task) -> Iterator[Problem]:
    for one in (one for one in task.outside if one.comes_along):
        yield Problem(
            "appointments",
            "The pup comes along to “{words}” at {at}, when it sleeps for the night; change the times of waking and of "
            "the last outing, or let it rest at home.",
            words=_words(task, one),
            at=_at(task, one.start),
        )
    for one in (one for one in task.busy if not one.covered):
        if task.start.nap_since is None and one.start < task.sizes.outing:
            yield Problem(
                "appointments",
                "“{words}” lies on waking at {at}, when the pup must go out; move it, or mark it as one during which "
                "somebody else takes the pup out.",
                words=_words(task, one),
                at=_at(task, 0),
            )
        if one.start < task.end and one.end > task.last_out:
            yield Problem(
                "appointments",
                "“{words}” lies on the last outing at {at}; move one of the two, or mark the appointment as one during "
                "which somebody else takes the pup out.",
                words=_words(task, one),
                at=_at(task, task.last_out),
            )


def overlaps(task: Task) -> Iterator[Problem]:
    """Yield the appointments that overlap: no plan can keep both."""
    for earlier, later in pairwise(task.busy):
        if later.start < earlier.end:
            yield Problem(
                "appointments",
                "“{first}” and “{second}” overlap at {at}: the trainer does one thing at a time; move one of them.",
                first=_words(task, earlier),
                second=_words(task, later),
                at=_at(task, later.start),
            )


def _appointments(task: Task) -> Iterator[Problem]:
    yield from overlaps(task)
    for start, end, words in _away(task):
        yield from _too_long(task, start, end, words)
    for group in clusters(task.busy, task.sizes):
        close = [one for one in task.busy if one not in group and _leaves_no_outing(one, group, task.sizes.outing)]
        for one in close:
            yield Problem(
                "appointments",
                "“{one}” and “{other}”, to which the pup comes along, leave no {minutes} minutes between for an "
                "outing; move one of them.",
                one=_words(task, one),
                other=_words(task, group[0]),
                minutes=task.sizes.outing * GRID_MIN,
            )
        if not close and not any(
            piece.appointment == group[0].number for _, shape in task.along for piece in shape.front
        ):
            yield Problem(
                "appointments",
                "The pup comes along to “{words}” and may go {most} minutes without an outing while awake, so it must "
                "be taken out by {at}; enter the appointment in two parts with 5 minutes between.",
                words=", ".join(_words(task, one) for one in group),
                most=task.frame.limits.awake_min,
                at=_at(task, group[0].start - task.sizes.outing + task.sizes.until_out),
            )


def _leaves_no_outing(one: Busy, group: list[Busy], outing: int) -> bool:
    return one.start < group[-1].end + outing and group[0].start - outing < one.end


def _away(task: Task) -> Iterator[tuple[int, int, str]]:
    """Yield the stretches in which the pup rests since the trainer is busy: appointments without 30 min between."""
    away: list[tuple[int, int, list[str]]] = []
    for one in (one for one in task.busy if not one.comes_along and not one.covered):
        if away and one.start - away[-1][1] < task.sizes.outing:
            start, end, words = away[-1]
            away[-1] = (start, max(end, one.end), [*words, _words(task, one)])
        else:
            away.append((one.start, one.end, [_words(task, one)]))
    for start, end, words in away:
        yield start, end, ", ".join(words)


def _too_long(task: Task, start: int, end: int, words: str) -> Iterator[Problem]:
    longest = task.sizes.until_out_resting - task.sizes.outing
    if end - start > longest:
        yield Problem(
            "appointments",
            "“{words}” lasts {minutes} minutes, and the resting pup may go {most} without an outing: somebody must "
            "take it out by {at}. Mark the appointment as one during which somebody else takes the pup out, or "
            "split it.",
            words=words,
            minutes=(end - start) * GRID_MIN,
            most=longest * GRID_MIN,
            at=_at(task, start + longest),
        )


def _too_tight(task: Task) -> Iterator[Problem]:
    """Yield what is known when no single rule is to blame: the appointments leave too little between them."""
    if task.busy:
        yield Problem(
            "appointments",
            "Between {times} there is no room for the outings, the naps of at least {nap} minutes and the {meals} "
            "meals that the pup needs; move an appointment, or mark it as one during which somebody else takes the "
            "pup out.",
            times=", ".join(f"{_at(task, one.start)}–{_at(task, one.end)} “{_words(task, one)}”" for one in task.busy),
            nap=SHORTEST_NAP * GRID_MIN,
            meals=len(task.wanted.meals),
        )
        return
    yield Problem(
        "meals",
        "From {wake} to {last} there is no room for {meals} meals with a nap between each two; give fewer meals or a "
        "longer day.",
        wake=_at(task, 0),
        last=_at(task, task.last_out),
        meals=len(task.wanted.meals),
    )


def _words(task: Task, one: Busy) -> str:
    return task.frame.appointments[one.number].words


def _at(task: Task, slot: int) -> str:
    return local(task.instant(slot), task.frame.zone)
