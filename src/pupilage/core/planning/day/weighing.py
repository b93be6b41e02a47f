"""What a timetable's soft rules cost: read from the blocks alone, whoever laid them."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState, BrokenRule
from pupilage.core.planning.day.frame import GRID, GRID_MIN, NAP_MIN, DayFrame, QuietHours, local
from pupilage.core.planning.day.rules import AFTER_WAKING_MIN, SPREAD_MIN, SoftRule
from pupilage.core.planning.day.task import (
    CHEW_MIN,
    PLAY_MIN,
    Task,
    fewest_outings,
    session_places,
    usual_meal_times,
)
from pupilage.core.words import Sentence, sentence

MINUTE = timedelta(minutes=1)
Measured = tuple[float, Sentence]
PER_THING = frozenset(
    {
        SoftRule.MEAL_LEFT_OUT,
        SoftRule.SESSION_LEFT_OUT,
        SoftRule.EXPOSURE_LEFT_OUT,
        SoftRule.PLAY_LEFT_OUT,
        SoftRule.CHEW_BEFORE_NAP,
        SoftRule.FEWER_OUTINGS,
    }
)
"""Rules whose weight is for each thing; the others' is for each 5 minutes."""


def cost_of(broken: Sequence[BrokenRule]) -> float:
    """Return what the broken rules cost together: what the solver makes small."""
    return sum(one.weight * one.amount / (1 if one.rule in PER_THING else GRID_MIN) for one in broken)


def weigh(frame: DayFrame, blocks: Sequence[Block], previous: Sequence[Block] = ()) -> tuple[BrokenRule, ...]:
    """Return the soft rules that a day's blocks break, the dearest first; previous: the plan it replaces."""
    held = [block for block in blocks if block.state is not BlockState.SKIPPED]
    measured: dict[SoftRule, Measured] = dict(
        [
            *_left_out(frame, held),
            *_meals(frame, held),
            *_sessions(frame, held),
            *_rests(frame, held),
            _quiet(frame, held),
            _outings(frame, held),
            _kept(held, previous),
        ]
    )
    broken = [
        BrokenRule(rule, frame.weight(rule), amount, "" if rule in PER_THING else "min", reason)
        for rule, (amount, reason) in measured.items()
        if amount > 0 and frame.weight(rule) > 0
    ]
    return tuple(sorted(broken, key=lambda one: -cost_of([one])))


def _of(blocks: Sequence[Block], kind: BlockKind) -> list[Block]:
    return sorted((block for block in blocks if block.kind is kind), key=lambda block: block.start)


def _minutes(span: timedelta) -> float:
    return span / MINUTE


def _left_out(frame: DayFrame, blocks: Sequence[Block]) -> Iterator[tuple[SoftRule, Measured]]:
    n = len(frame.meals) - len(_of(blocks, BlockKind.MEAL))
    why = sentence("{n} of {all} meals are not given today; add their food to the others.", n=n, all=len(frame.meals))
    yield SoftRule.MEAL_LEFT_OUT, (n, why)
    n = len(frame.sessions) - len(_of(blocks, BlockKind.SESSION))
    why = sentence("{n} of {all} sessions found no room between naps, meals and outings.", n=n, all=len(frame.sessions))
    yield SoftRule.SESSION_LEFT_OUT, (n, why)
    n = len(frame.exposures) - len(_of(blocks, BlockKind.EXPOSURE))
    why = sentence("{n} of {all} exposures found no room; they wait for another day.", n=n, all=len(frame.exposures))
    yield SoftRule.EXPOSURE_LEFT_OUT, (n, why)
    all_play = frame.play_min // PLAY_MIN
    n = all_play - len(_of(blocks, BlockKind.PLAY))
    why = sentence("{n} of {all} bouts of play found no room.", n=n, all=all_play)
    yield SoftRule.PLAY_LEFT_OUT, (n, why)
    all_chews = frame.chew_min // CHEW_MIN
    n = all_chews - len(_of(blocks, BlockKind.CHEW))
    why = sentence("{n} of {all} times to chew before a nap found no room.", n=n, all=all_chews)
    yield SoftRule.CHEW_BEFORE_NAP, (n, why)
    given = sum(_minutes(block.end - block.start) for block in _of(blocks, BlockKind.RESIDENT))
    wanted = GRID_MIN * -(-(frame.resident_min or 0) // GRID_MIN)
    why = sentence(
        "The resident dog gets {given:.0f} of {wanted} minutes while the pup naps.", given=given, wanted=wanted
    )
    yield SoftRule.RESIDENT_TIME, (wanted - given, why)


def _meals(frame: DayFrame, blocks: Sequence[Block]) -> Iterator[tuple[SoftRule, Measured]]:
    meals = _of(blocks, BlockKind.MEAL)
    apart = [
        (_minutes(abs(meal.start - usual)), meal.start)
        for meal, usual in zip(meals, usual_meal_times(frame), strict=False)
    ]
    most, at = max(apart, default=(0.0, frame.wake_at))
    why = sentence(
        "Naps, outings and appointments shift the meals; the one at {at} is {minutes:.0f} min from its usual time.",
        at=local(at, frame.zone),
        minutes=most,
    )
    yield SoftRule.MEAL_TIMES, (sum(minutes for minutes, _ in apart), why)


def _sessions(frame: DayFrame, blocks: Sequence[Block]) -> Iterator[tuple[SoftRule, Measured]]:
    sessions = _of(blocks, BlockKind.SESSION)
    off = [
        (_minutes(abs(one.start - place)) - SPREAD_MIN, one.start)
        for one, place in zip(sessions, session_places(frame), strict=False)
    ]
    off = [one for one in off if one[0] > 0]
    at = max(off, default=(0.0, frame.wake_at))[1]
    why = sentence("The sessions are not evenly spread over the day; see the one at {at}.", at=local(at, frame.zone))
    yield SoftRule.SESSIONS_SPREAD, (sum(minutes for minutes, _ in off), why)
    early = [(AFTER_WAKING_MIN - _minutes(one.start - _woke(frame, blocks, one.start)), one.start) for one in sessions]
    early = [one for one in early if one[0] > 0]
    at = max(early, default=(0.0, frame.wake_at))[1]
    why = sentence("A session comes soon after waking, at {at}.", at=local(at, frame.zone))
    yield SoftRule.SESSION_AFTER_WAKING, (sum(minutes for minutes, _ in early), why)


def _woke(frame: DayFrame, blocks: Sequence[Block], at: datetime) -> datetime:
    return max([frame.wake_at, *(nap.end for nap in _of(blocks, BlockKind.NAP) if nap.end <= at)])


def _rests(frame: DayFrame, blocks: Sequence[Block]) -> Iterator[tuple[SoftRule, Measured]]:
    naps, day_end = _of(blocks, BlockKind.NAP), frame.last_outing_at + -(-frame.outing_min // GRID_MIN) * GRID
    off = [(max(NAP_MIN[0] - nap, nap - NAP_MIN[1]), nap) for nap in (_minutes(n.end - n.start) for n in naps)]
    off = [one for one in off if one[0] > 0]
    why = sentence(
        "{n} naps are shorter than {least} or longer than {most} minutes.",
        n=len(off),
        least=NAP_MIN[0],
        most=NAP_MIN[1],
    )
    yield SoftRule.NAP_LENGTH, (sum(minutes for minutes, _ in off), why)
    begins = min([frame.wake_at, *(block.start for block in blocks)])
    edges = [begins, *(edge for nap in naps for edge in (nap.start, nap.end)), day_end]
    awake = [_minutes(end - start) for start, end in zip(edges[::2], edges[1::2], strict=True)]
    least, most = frame.awake_min
    short = [least - minutes for minutes in awake if minutes < least]
    why = sentence("{n} awake blocks are shorter than the usual {least} minutes.", n=len(short), least=least)
    yield SoftRule.AWAKE_SHORT, (sum(short), why)
    long = [minutes - most for minutes in awake if minutes > most]
    why = sentence(
        "The pup comes along and is awake for up to {minutes:.0f} minutes, {most} being the most at its age; let it "
        "sleep in its carrier.",
        minutes=max(awake, default=0.0),
        most=most,
    )
    yield SoftRule.AWAKE_LONG, (sum(long), why)


def _quiet(frame: DayFrame, blocks: Sequence[Block]) -> tuple[SoftRule, Measured]:
    loud = 0.0
    for start, end in (span for hours in frame.quiet for span in quiet_spans(frame, hours)):
        for block in _of(blocks, BlockKind.PLAY):
            loud += max(0.0, _minutes(min(end, block.end) - max(start, block.start)))
    return SoftRule.QUIET_HOURS, (loud, sentence("{minutes:.0f} minutes of play lie in the quiet hours.", minutes=loud))


def quiet_spans(frame: DayFrame, hours: QuietHours) -> list[tuple[datetime, datetime]]:
    """Return the parts of the day that are quiet, as instants; hours over midnight are two parts."""
    start, end = frame.instant(hours.start), frame.instant(hours.end)
    if start < end:
        return [(start, end)]
    return [(frame.wake_at, end), (start, frame.next_wake_at)]


def quiet_slots(task: Task) -> list[int]:
    """Return for each slot how many slots of a bout of play that begins there lie in quiet hours."""
    spans = [
        ((start - task.origin) // GRID, (end - task.origin) // GRID)
        for hours in task.frame.quiet
        for start, end in quiet_spans(task.frame, hours)
    ]
    return [
        min(task.sizes.play, sum(max(0, min(end, slot + task.sizes.play) - max(start, slot)) for start, end in spans))
        for slot in range(task.end + 1)
    ]


def _outings(frame: DayFrame, blocks: Sequence[Block]) -> tuple[SoftRule, Measured]:
    by_day = [block for block in _of(blocks, BlockKind.OUTING) if block.start <= frame.last_outing_at]
    fewest = fewest_outings(frame)
    why = sentence(
        "{n} outings by day; {fewest} is the fewest that the limits allow, without meals, play and short naps.",
        n=len(by_day),
        fewest=fewest,
    )
    return SoftRule.FEWER_OUTINGS, (max(0, len(by_day) - fewest), why)


def _kept(blocks: Sequence[Block], previous: Sequence[Block]) -> tuple[SoftRule, Measured]:
    before = {block.key: block.start for block in previous if block.kind in (BlockKind.MEAL, BlockKind.SESSION)}
    moved = [_minutes(abs(block.start - before[block.key])) for block in blocks if block.key in before]
    n = sum(minutes > 0 for minutes in moved)
    return SoftRule.KEEP_PLAN, (sum(moved), sentence("{n} meals and sessions move against the plan before.", n=n))
