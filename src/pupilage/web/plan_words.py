"""A plan in words: what a session is for, what leaves no more room, days and goals as the page shows them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.planning.programme.plan import FAMILY, NEW_PERSON, GoalPlan, ProgrammePlan, Relief
from pupilage.core.planning.programme.rules import OUT_OF_REACH, Rule
from pupilage.core.planning.programme.what_if import WhatIf

PURPOSE_WORDS = {
    Purpose.TEACH: "",
    Purpose.UPKEEP: _("to keep it"),
    Purpose.ELSEWHERE: _("in a new place"),
    Purpose.PROBE: _("cold first try"),
}
WHO_WORDS = {NEW_PERSON: _("with a new person"), FAMILY: _("with the family's words and hands")}
RULE_WORDS = {
    Rule.ARRIVAL: _("not arrived yet"),
    Rule.DAYS_OFF: _("day off"),
    Rule.SESSIONS: _("sessions a day"),
    Rule.MINUTES: _("your minutes"),
    Rule.PUP: _("the pup's age and the day's visits"),
    Rule.FOOD: _("the day's food"),
    Rule.HANDOVER: _("hand-over"),
    Rule.AGE: _("too young"),
    Rule.PREREQUISITE: _("another one first"),
    Rule.PROBE_DAY: _("day of the cold tries"),
}


@dataclass(frozen=True)
class SessionWords:
    """A session in words."""

    name: str
    step: str
    note: str
    minutes: int


@dataclass(frozen=True)
class DayWords:
    """A day in words; why: what leaves it without a session."""

    day: date
    sessions: tuple[SessionWords, ...]
    why: str


@dataclass(frozen=True)
class GoalWords:
    """A goal of a plan with its names; whether nothing brings it home."""

    goal: GoalPlan
    name: str
    target: str
    is_out_of_reach: bool


@dataclass(frozen=True)
class ReliefWords:
    """A goal that could give way, and what becomes of the others, a name and two chances each."""

    relief: Relief
    name: str
    step: str
    takes: int
    changes: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True)
class PairWords:
    """A goal as it is planned and as it would be; None where one of the plans does not have it."""

    name: str
    now: GoalPlan | None
    then: GoalPlan | None


def days_in_words(plan: ProgrammePlan, catalogue: Catalogue, *, first: date, n_days: int) -> list[DayWords]:
    """Return the next days of a plan, from `first` on."""
    days = [day for day in plan.days if day.day >= first][:n_days]
    return [
        DayWords(
            day.day,
            tuple(_session_words(one, catalogue) for one in day.sessions),
            "" if day.sessions else str(RULE_WORDS[day.rule]),
        )
        for day in days
    ]


def goals_in_words(plan: ProgrammePlan, catalogue: Catalogue) -> list[GoalWords]:
    """Return the goals of a plan with their names."""
    return [
        GoalWords(
            goal,
            _name(goal.behaviour, catalogue.behaviours),
            _step(goal.behaviour, goal.target, catalogue.behaviours),
            goal.p_most < OUT_OF_REACH,
        )
        for goal in plan.goals
    ]


def reliefs_in_words(plan: ProgrammePlan, catalogue: Catalogue) -> list[ReliefWords]:
    """Return what could give way, with names."""
    known = catalogue.behaviours
    return [
        ReliefWords(
            relief,
            _name(relief.behaviour, known),
            _step(relief.behaviour, relief.step or "", known),
            -relief.n_freed,
            tuple((_name(one.behaviour, known), one.p_before, one.p_after) for one in relief.changes),
        )
        for relief in plan.reliefs
    ]


def pairs_in_words(both: WhatIf, catalogue: Catalogue) -> Iterator[PairWords]:
    """Return every goal of two plans side by side."""
    for now, then in both.pairs:
        goal = now or then
        if goal is not None:
            yield PairWords(_name(goal.behaviour, catalogue.behaviours), now, then)


def _session_words(session: PlannedSession, catalogue: Catalogue) -> SessionWords:
    who = WHO_WORDS.get(session.who)
    purpose = PURPOSE_WORDS[session.purpose]
    elsewhere = session.purpose is Purpose.ELSEWHERE
    parts = [str(who)] if elsewhere and who else [str(part) for part in (purpose, who) if part]
    return SessionWords(
        _name(session.behaviour, catalogue.behaviours),
        _step(session.behaviour, session.step, catalogue.behaviours),
        gettext(", ").join(parts),
        session.minutes,
    )


def _name(key: str, known: Mapping[str, Behaviour]) -> str:
    return known[key].name if key in known else key


def _step(behaviour: str, key: str, known: Mapping[str, Behaviour]) -> str:
    found = known[behaviour].step(key) if behaviour in known else None
    return key if found is None else found.summary
