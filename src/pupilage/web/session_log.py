"""A session's log in words, one row an entry."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext

from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Outcome
from pupilage.core.training.record.mat import CAUSE_WORDS, BreakCause
from pupilage.core.training.record.seen import MOUTH_WORDS, SIGN_WORDS, StressSign
from pupilage.reports.formatting import show_seconds
from pupilage.services.read_session import SessionPage
from pupilage.web.training_words import EVENT_WORDS, OUTCOME_WORDS
from pupilage.web.words import said


@dataclass(frozen=True)
class LogRow:
    """An entry: its number in the log, when, what, and whether it still counts."""

    n: int
    at: datetime
    words: str
    taken_back: bool


def log_rows(page: SessionPage) -> list[LogRow]:
    """Return the log of a session, oldest first; entries that point at another name it by its number."""
    numbers = {line.event.id: n for n, line in enumerate(page.log, start=1)}
    return [
        LogRow(n, line.event.at, _words(page, line.event, numbers), line.taken_back)
        for n, line in enumerate(page.log, start=1)
    ]


def _words(page: SessionPage, event: Event, numbers: dict[str, int]) -> str:
    words, detail = str(EVENT_WORDS[event.kind]), _detail(page, event)
    if event.kind in {EventKind.WITHDRAWN, EventKind.CORRECTED}:
        words = gettext("{what}: entry {n}").format(what=words, n=numbers.get(str(event.payload["event"]), "–"))
    return f"{words} · {detail}" if detail else words


def _detail(page: SessionPage, event: Event) -> str:
    payload: Any = event.payload
    match event.kind:
        case EventKind.TRIAL | EventKind.CORRECTED:
            return str(OUTCOME_WORDS[Outcome(payload["outcome"])])
        case EventKind.HOLD_STARTED:
            return show_seconds(float(payload["target_s"]))
        case EventKind.HOLD_BROKE | EventKind.HOLD_RELEASED:
            cause = payload.get("cause")
            held = show_seconds(float(payload["held_s"]))
            return f"{held}, {said(CAUSE_WORDS[BreakCause(cause)])}" if cause else held
        case EventKind.SESSION_STARTED | EventKind.STEP_CHANGED:
            step = page.behaviour.step(payload["step"]) if page.behaviour else None
            return step.summary if step else str(payload["step"])
        case EventKind.REINFORCER_CHANGED:
            return str(payload["reinforcer"])
        case EventKind.SEEN:
            signs = [said(SIGN_WORDS[StressSign(sign)]) for sign in payload.get("signs", ())]
            mouth = payload.get("mouth")
            return ", ".join([*signs, *([] if mouth is None else [said(MOUTH_WORDS[mouth])])])
        case EventKind.PAID:
            return str(payload.get("pieces", 0))
        case EventKind.NOTE:
            return str(payload["text"])
    return ""
