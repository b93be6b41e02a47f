"""Which family needs a call, and why: five reasons, each with its rule; how often they err is simulated."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from pupilage.core.handover.family_log import Entry, EntryKind, count_accidents
from pupilage.core.handover.follow_up import FollowUp, FollowUpState
from pupilage.core.handover.kept import Kept
from pupilage.core.words import Sentence, sentence

LEAST_TOLD = 5
P_FALLEN = 0.01
"""Weaker than forecast: as few as that had a chance under one in a hundred, after five entries or more."""

ACCIDENT_DAYS, LEAST_ACCIDENTS, P_ACCIDENTS = 7.0, 3, 0.05
OWN_DAYS = 14.0
"""Accidents of the newest seven days beside the trainer's own last fourteen."""

AT_ONCE = ("guarding", "distress-alone")
"""Unwanted behaviours for which one is enough: somebody can be hurt, or the pup suffers."""


class Reason(StrEnum):
    """Why to call, the most pressing first."""

    ASKED = "asked"
    AT_ONCE = "at-once"
    ACCIDENTS = "accidents"
    FALLEN = "fallen"
    OVERDUE = "overdue"


@dataclass(frozen=True)
class Why:
    """A reason, in words. subject: the key of the behaviour that it is about, "" for none."""

    reason: Reason
    words: Sentence
    subject: str = ""


@dataclass(frozen=True)
class OwnAccidents:
    """Accidents in the trainer's own last days; days: those with anything in the care log, 0 for no record."""

    n: int
    days: float


def reasons_to_call(
    entries: Sequence[Entry],
    kept: Sequence[Kept],
    follow_ups: Sequence[FollowUp],
    own: OwnAccidents,
    *,
    now: datetime,
    called_at: datetime | None = None,
) -> tuple[Why, ...]:
    """Return why to call a family, the most pressing reason first; empty for no call.

    Parameters: entries that stand; kept, made of entries since `called_at`; own, the trainer's accidents. What was told
    up to the last call is settled by it.
    """
    fresh = [one for one in entries if called_at is None or one.at > called_at]
    found = [*_asked(fresh), *_at_once(fresh), *_accidents(fresh, own, now), *_fallen(kept)]
    return (*found, *_overdue(follow_ups, called_at))


def _asked(entries: Sequence[Entry]) -> list[Why]:
    if not any(one.kind is EntryKind.CALL_ME for one in entries):
        return []
    return [Why(Reason.ASKED, sentence("They ask for a call."))]


def _at_once(entries: Sequence[Entry]) -> list[Why]:
    counts = {key: sum(one.kind is EntryKind.INCIDENT and one.subject == key for one in entries) for key in AT_ONCE}
    told = sentence(
        "Written down since the hand-over or the last call: {n}. One is enough to call and to name the vet."
    )
    return [Why(Reason.AT_ONCE, Sentence(told.template, {"n": n}), key) for key, n in counts.items() if n]


def _accidents(entries: Sequence[Entry], own: OwnAccidents, now: datetime) -> list[Why]:
    since = now - timedelta(days=ACCIDENT_DAYS)
    n = count_accidents(entries, since=since, until=now)
    if n < LEAST_ACCIDENTS:
        return []
    figures = {"n": n, "days": round(ACCIDENT_DAYS), "own": own.n, "own_days": round(own.days)}
    if own.days <= 0.0:
        told = sentence("{n} accidents in {days} days; there is no record of ours to hold them against.")
        return [Why(Reason.ACCIDENTS, Sentence(told.template, figures))]
    if more_often(n, ACCIDENT_DAYS, own.n, own.days) >= P_ACCIDENTS:
        return []
    told = sentence("{n} accidents in {days} days, {own} in the last {own_days} days here: more often than before.")
    return [Why(Reason.ACCIDENTS, Sentence(told.template, figures))]


def more_often(n: int, days: float, own_n: int, own_days: float) -> float:
    """Return the chance of n or more of all n + own_n events in these days, were both rates alike.

    Model: given their sum, n is Binomial(n + own_n, days ÷ (days + own_days)): the exact test of two Poisson rates.
    Source: Przyborowski & Wilenski, 1940, Biometrika 31, 313-323 (from memory); statsmodels in
    tests/external/test_after_handover.py.
    """
    from scipy.special import betainc  # slow to load, and few commands ask

    if n == 0:
        return 1.0
    return float(betainc(n, own_n + 1, days / (days + own_days)))


def _fallen(kept: Sequence[Kept]) -> list[Why]:
    told = sentence("{met} of {n} worked, about {expected} were to be expected without practice: weaker than forecast.")
    return [
        Why(
            Reason.FALLEN,
            Sentence(told.template, {"met": one.n_met, "n": one.n, "expected": round(one.expected)}),
            one.behaviour,
        )
        for one in kept
        if one.n >= LEAST_TOLD and one.p_as_few is not None and one.p_as_few < P_FALLEN
    ]


def _overdue(follow_ups: Sequence[FollowUp], called_at: datetime | None) -> list[Why]:
    late = [one for one in follow_ups if one.state is FollowUpState.OVERDUE]
    if called_at is not None:
        late = [one for one in late if one.due_on > called_at.date()]
    if not late:
        return []
    words = sentence("The follow-up of week {week} was due on {day}, and nothing was told of it.")
    newest = late[-1]
    return [Why(Reason.OVERDUE, Sentence(words.template, {"week": newest.week, "day": newest.due_on.isoformat()}))]
