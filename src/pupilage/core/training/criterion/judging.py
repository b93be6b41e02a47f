"""Whether an event can be written down at all: the same rule for a tap, a remote's key and an imported row."""

import math
from collections.abc import Callable, Mapping
from typing import Any
from uuid import UUID

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.record.events import EventKind
from pupilage.core.training.record.evidence import Outcome, SessionKind, TrialSource
from pupilage.core.training.record.mat import BreakCause
from pupilage.core.training.record.seen import HARDEST_MOUTH, StressSign

MAX_SECONDS = 4 * 60 * 60
MAX_PIECES = 1000
MAX_TEXT = 5000
MAX_NAME = 80

Check = Callable[[Any], bool]


def _is_number(value: Any, low: float, high: float) -> bool:
    return (
        isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value) and low <= value <= high
    )


def _is_count(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= MAX_PIECES


def _is_seconds(value: Any) -> bool:
    return _is_number(value, 0.0, MAX_SECONDS)


def _is_key(value: Any) -> bool:
    return isinstance(value, str) and 0 < len(value) <= 60


def _is_text(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= MAX_TEXT


def _is_name(value: Any) -> bool:
    return isinstance(value, str) and len(value) <= MAX_NAME


def _is_id(value: Any) -> bool:
    try:
        UUID(str(value))
    except ValueError:
        return False
    return isinstance(value, str)


def _is_outcome(value: Any) -> bool:
    return value in {outcome.value for outcome in Outcome}


def _is_session_kind(value: Any) -> bool:
    return value in {kind.value for kind in SessionKind}


def _is_source(value: Any) -> bool:
    return value in {source.value for source in TrialSource}


def _is_cause(value: Any) -> bool:
    return value in {cause.value for cause in BreakCause}


def _are_signs(value: Any) -> bool:
    known = {sign.value for sign in StressSign}
    return isinstance(value, list) and len(value) <= len(known) and all(sign in known for sign in value)


def _is_mouth(value: Any) -> bool:
    return _is_count(value) and value <= HARDEST_MOUTH


def _or_none(check: Check) -> Check:
    return lambda value: value is None or check(value)


_REQUIRED: dict[EventKind, dict[str, Check]] = {
    EventKind.SESSION_STARTED: {"programme": _is_id, "behaviour": _is_key, "step": _is_key},
    EventKind.TRIAL: {"outcome": _is_outcome},
    EventKind.HOLD_STARTED: {"target_s": _is_seconds},
    EventKind.HOLD_BROKE: {"hold": _is_id, "held_s": _is_seconds},
    EventKind.HOLD_RELEASED: {"hold": _is_id, "held_s": _is_seconds},
    EventKind.STEP_CHANGED: {"step": _is_key},
    EventKind.REINFORCER_CHANGED: {"reinforcer": _is_text},
    EventKind.PAID: {"hold": _is_id},
    EventKind.SEEN: {},
    EventKind.WITHDRAWN: {"event": _is_id},
    EventKind.CORRECTED: {"event": _is_id, "outcome": _is_outcome},
    EventKind.NOTE: {"text": _is_text},
    EventKind.SESSION_ENDED: {},
}
_OPTIONAL: dict[EventKind, dict[str, Check]] = {
    EventKind.SESSION_STARTED: {
        "kind": _is_session_kind,
        "reinforcer": _is_text,
        "pieces": _or_none(_is_count),
        "cold": lambda value: isinstance(value, bool),
        "beside": _is_id,
        "handler": _is_name,
        "place": _is_name,
    },
    EventKind.TRIAL: {"latency_s": _or_none(_is_seconds), "pieces": _is_count, "source": _is_source},
    EventKind.HOLD_BROKE: {"pieces": _is_count, "source": _is_source, "cause": _is_cause},
    EventKind.HOLD_RELEASED: {"pieces": _is_count, "source": _is_source},
    EventKind.REINFORCER_CHANGED: {"pieces": _or_none(_is_count)},
    EventKind.PAID: {"pieces": _is_count, "interval_s": _or_none(_is_seconds)},
    EventKind.SEEN: {"signs": _are_signs, "mouth": _or_none(_is_mouth)},
    EventKind.SESSION_ENDED: {"reason": _is_text},
}


def require_payload(kind: EventKind, payload: Mapping[str, Any]) -> None:
    """Refuse a payload that does not fit its kind (see the table in `events`).

    Raises InvalidInput with every fault at once.
    """
    required, optional = _REQUIRED[kind], _OPTIONAL.get(kind, {})
    problems = [
        Problem(name, "A “{kind}” event needs “{name}”.", kind=kind.value, name=name)
        for name in required
        if name not in payload
    ]
    for name, value in payload.items():
        check = required.get(name) or optional.get(name)
        if check is None:
            problems.append(
                Problem(name, "A “{kind}” event has no “{name}”; leave it out.", kind=kind.value, name=name)
            )
        elif not check(value):
            problems.append(
                Problem(
                    name,
                    "“{value}” cannot be the “{name}” of a “{kind}” event.",
                    value=str(value)[:40],
                    name=name,
                    kind=kind.value,
                )
            )
    if kind is EventKind.SEEN and not payload.get("signs") and payload.get("mouth") is None:
        problems.append(Problem("signs", "Nothing was seen: give signs, or how the mouth took the food."))
    if problems:
        raise InvalidInput(problems)
