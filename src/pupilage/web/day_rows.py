"""A timetable as a page shows it: what is due, and the rows of the day before and after the present moment."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState
from pupilage.core.planning.day.following import due_of
from pupilage.core.words import Sentence
from pupilage.reports.block_words import STATE_WORDS, block_notes, block_title
from pupilage.services.read_catalogue import read_catalogue
from pupilage.services.read_day_plan import StoredPlan

SHOWN_AHEAD = timedelta(hours=3)
"""What comes later than that is folded: the page is for the next hours."""

DONE_WORDS = {BlockKind.MEAL: _("Eaten"), BlockKind.NAP: _("Awake again")}
"""What the button that ticks a block off says, where “Done” would not be plain."""

MAY_WAIT = (BlockKind.MEAL, BlockKind.SESSION, BlockKind.PLAY, BlockKind.CHEW, BlockKind.EXPOSURE)
"""What can be put off until later; an outing or a nap cannot."""

STATUS_WORDS = {
    "optimal": _("By the rules as you weighed them, there is no better plan."),
    "within": _("By the rules as you weighed them, no plan could be better by more than {gap}."),
    "first": _("The first plan that keeps the hard rules; there may be better ones."),
}


@dataclass(frozen=True)
class BlockRow:
    """One block in words. key and state: as stored; done_words: what ticks it off."""

    key: str
    kind: str
    state: str
    start: datetime
    end: datetime
    title: str
    notes: str
    reason: Sentence | None
    behaviour: str
    step: str
    done_words: str
    is_on: bool
    is_late: bool
    may_wait: bool

    @property
    def state_words(self) -> str:
        return str(STATE_WORDS[BlockState(self.state)])


@dataclass(frozen=True)
class DayRows:
    """The day around the present moment. session: the next one that is still to be held.

    mark: changes when a page that lies open should be shown anew.
    """

    due: BlockRow | None
    then: BlockRow | None
    session: BlockRow | None
    over: tuple[BlockRow, ...]
    coming: tuple[BlockRow, ...]
    later: tuple[BlockRow, ...]
    n_done: int
    n_skipped: int
    n_open: int
    mark: str


def day_rows(stored: StoredPlan | None, now: datetime) -> DayRows | None:
    """Return a timetable's rows, None without one. A block is over when it has ended, or is ticked off."""
    if stored is None:
        return None
    blocks = [one.block for one in stored.shown]
    due = due_of(blocks, now)
    over = [b for b in blocks if b.end <= now or (b.state is not BlockState.PLANNED and b.start <= now)]
    coming = [block for block in blocks if block not in over]
    session = next((b for b in coming if b.session is not None and b.state is BlockState.PLANNED), None)
    n_begun = sum(block.start <= now for block in blocks)
    return DayRows(
        due=block_row(due.now, now) if due.now else None,
        then=block_row(due.then, now) if due.then else None,
        session=block_row(session, now) if session else None,
        over=tuple(block_row(block, now) for block in over),
        coming=tuple(block_row(block, now) for block in coming if block.start < now + SHOWN_AHEAD),
        later=tuple(block_row(block, now) for block in coming if block.start >= now + SHOWN_AHEAD),
        n_done=sum(block.state is BlockState.DONE for block in over),
        n_skipped=sum(block.state is BlockState.SKIPPED for block in over),
        n_open=sum(block.state is BlockState.PLANNED for block in over),
        mark=f"{stored.version}.{n_begun}.{len(over)}",
    )


def block_row(block: Block, now: datetime) -> BlockRow:
    """Return a block in words."""
    catalogue = read_catalogue()
    return BlockRow(
        key=block.key,
        kind=block.kind.value,
        state=block.state.value,
        start=block.start,
        end=block.end,
        title=block_title(block, catalogue),
        notes=" · ".join(block_notes(block, catalogue)),
        reason=block.reason,
        behaviour=block.session.behaviour if block.session else "",
        step=block.session.step if block.session else "",
        done_words=str(DONE_WORDS.get(block.kind, _("Done"))),
        is_on=block.start <= now < block.end,
        is_late=block.end <= now,
        may_wait=block.kind in MAY_WAIT,
    )


def status_words(stored: StoredPlan) -> str:
    """Return how good the plan is, in a sentence."""
    words = STATUS_WORDS.get(stored.plan.solution.status)
    return str(words).format(gap=_percent(stored.plan.solution.gap)) if words else ""


def _percent(gap: float) -> str:
    return gettext("{n} %").format(n=max(1, round(100 * gap)))


def timetable_context(stored: StoredPlan | None, now: datetime) -> dict[str, Any]:
    """Return what the timetable's templates read."""
    return {
        "timetable": stored,
        "rows": day_rows(stored, now),
        "status_words": status_words(stored) if stored else "",
        "may_be_better": stored is not None and stored.plan.solution.status == "first" and not stored.is_stale,
    }
