"""The follow-ups after a hand-over: at 1, 2, 4 and 8 weeks a few cues are tried cold and told of."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from pupilage.core.handover.family_log import Entry, cues_of

WEEKS = (1, 2, 4, 8)
"""Common practice: a probe after a week; then twice as far apart each time."""

N_TRIES = 3
MOST_BEHAVIOURS = 3
OPENS_DAYS, GRACE_DAYS = 2, 4
"""What is written from two days before its day counts for it; four days after its day it is overdue."""


class FollowUpState(StrEnum):
    """How a follow-up stands."""

    COMING = "coming"
    DUE = "due"
    OVERDUE = "overdue"
    PARTLY = "partly"
    REPORTED = "reported"


@dataclass(frozen=True)
class Tried:
    """What was told of one cue: n_met of n tries."""

    behaviour: str
    n_met: int
    n: int


@dataclass(frozen=True)
class FollowUp:
    """One follow-up: when it is due, what is tried, and what was told of each."""

    week: int
    due_on: date
    tried: tuple[Tried, ...]
    state: FollowUpState

    @property
    def is_open(self) -> bool:
        """Whether the family is asked for it now."""
        return self.state in (FollowUpState.DUE, FollowUpState.OVERDUE, FollowUpState.PARTLY)


def choose_behaviours(
    behaviours: Sequence[str], forecast: Callable[[str, date], float], *, handover_on: date
) -> tuple[tuple[str, ...], ...]:
    """Return what each follow-up tries: those that were tried least often so far, of them the weakest by forecast.

    Parameters: behaviours that work somewhere, the weightiest first; forecast, the chance of a cold first try on a day.
    """
    asked = dict.fromkeys(behaviours, 0)
    chosen = []
    for week in WEEKS:
        day = handover_on + timedelta(weeks=week)
        rank = {key: (asked[key], forecast(key, day)) for key in behaviours}
        picked = tuple(sorted(behaviours, key=rank.__getitem__)[:MOST_BEHAVIOURS])
        for key in picked:
            asked[key] += 1
        chosen.append(picked)
    return tuple(chosen)


def plan_follow_ups(
    chosen: Sequence[Sequence[str]], entries: Sequence[Entry], *, handover_on: date, today: date
) -> tuple[FollowUp, ...]:
    """Return the four follow-ups with what was told of each. Only entries that name the week count for it."""
    found = []
    for week, keys in zip(WEEKS, chosen, strict=True):
        due_on = handover_on + timedelta(weeks=week)
        tried = tuple(_told(entries, key, week) for key in keys)
        found.append(FollowUp(week, due_on, tried, _state(tried, due_on, today)))
    return tuple(found)


def _told(entries: Sequence[Entry], behaviour: str, week: int) -> Tried:
    own = [one for one in cues_of(entries, behaviour) if one.week == week]
    return Tried(behaviour, sum(bool(one.met) for one in own), len(own))


def _state(tried: Sequence[Tried], due_on: date, today: date) -> FollowUpState:
    n_told = sum(one.n > 0 for one in tried)
    if tried and n_told == len(tried):
        return FollowUpState.REPORTED
    if today < due_on - timedelta(days=OPENS_DAYS) or not tried:
        return FollowUpState.COMING
    if today > due_on + timedelta(days=GRACE_DAYS):
        return FollowUpState.OVERDUE
    return FollowUpState.PARTLY if n_told else FollowUpState.DUE
