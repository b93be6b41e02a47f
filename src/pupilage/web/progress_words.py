"""A behaviour's way in words: a line for each day, each place and each person, and what is due."""

from dataclasses import dataclass

from django.utils.translation import gettext, ngettext

from pupilage.core.handover.places import PlaceCount, Standing
from pupilage.core.progress.days import DayLine
from pupilage.core.progress.passing import PassChance
from pupilage.core.progress.showings import Showing
from pupilage.core.progress.way import GoalProgress, Way
from pupilage.core.training.posterior.retention import Retention
from pupilage.core.training.thresholds.plane import Plane, PlaneCell
from pupilage.reports.formatting import show_chance, show_number, show_seconds
from pupilage.reports.thresholds import show_amount
from pupilage.web.threshold_words import SHORT_PLACES


@dataclass(frozen=True)
class ShownLine:
    """A place or a person: the name, the newest tries, and what they say."""

    name: str
    counted: str
    says: str


@dataclass(frozen=True)
class DayRow:
    """A day as the table has it."""

    line: DayLine
    place: int | None
    latency: str
    held: str
    rewards: str


@dataclass(frozen=True)
class GoalRow:
    """A goal as the page has it: the chances of its test with their ends, empty while there are none."""

    goal: GoalProgress
    now: str
    now_ends: str
    then: str
    then_ends: str
    due: str


@dataclass(frozen=True)
class KeptRow:
    """The chance of a first try after so many days without practice."""

    when: str
    chance: str
    ends: str


def goal_rows(goals: tuple[GoalProgress, ...]) -> list[GoalRow]:
    """Return a row for each goal."""
    return [GoalRow(goal, *_passing(goal.now), *_passing(goal.then), due=due_words(goal.due_in_days)) for goal in goals]


def _passing(chance: PassChance | None) -> tuple[str, str]:
    return ("", "") if chance is None else (show_chance(chance.p), _ends(chance.low, chance.high))


def _ends(low: float, high: float) -> str:
    """Return both ends of an interval; nothing where they read alike."""
    ends = show_chance(low), show_chance(high)
    return "" if ends[0] == ends[1] else " … ".join(ends)


def standing_words(standing: Standing) -> str:
    """Return what a count of tries at a place, or with a person, says."""
    return {
        Standing.WORKS: gettext("works"),
        Standing.UNSURE: gettext("not sure yet"),
        Standing.FEW: gettext("too few to tell"),
        Standing.NEVER: gettext("not tried yet"),
    }[standing]


def shown_lines(showings: tuple[Showing, ...], unnamed: str) -> list[ShownLine]:
    """Return a line for each name. unnamed: what an empty name stands for."""
    return [
        ShownLine(one.name or unnamed, _met(one.lately.n_met, one.lately.n), standing_words(one.standing))
        for one in showings
    ]


def asked_lines(counts: tuple[PlaceCount, ...]) -> list[ShownLine]:
    """Return a line for each place that the way to the goal asks for."""
    return [
        ShownLine(str(SHORT_PLACES[one.place]), _met(one.n_met, one.n) if one.n else "", standing_words(one.standing))
        for one in counts
    ]


def _met(n_met: int, n: int) -> str:
    return gettext("{met} of the newest {n} met").format(met=n_met, n=n)


def day_rows(way: Way) -> list[DayRow]:
    """Return the days, the newest first."""
    places = step_places(way)
    return [
        DayRow(
            line=line,
            place=places.get(line.step),
            latency=show_seconds(line.latency_s),
            held=show_seconds(line.held_s),
            rewards="–" if line.rewards_per_min is None else show_number(line.rewards_per_min),
        )
        for line in reversed(way.days)
    ]


def step_places(way: Way) -> dict[str, int]:
    """Return the number of every step of the behaviour, from 1, by key."""
    return {step.key: n for n, step in enumerate(way.behaviour.steps, start=1)}


def kept_rows(retention: Retention | None) -> list[KeptRow]:
    """Return what would be left without practice, a row for each number of days."""
    if retention is None:
        return []
    rows = zip(retention.days, retention.p, retention.low, retention.high, strict=True)
    return [
        KeptRow(
            ngettext("{n} day", "{n} days", days).format(n=days),
            show_chance(p),
            _ends(low, high),
        )
        for days, p, low, high in rows
    ]


def due_words(days: int | None) -> str:
    """Return when a behaviour is due, in words; empty for one that is still being taught."""
    if days is None:
        return ""
    if days == 0:
        return gettext("due today")
    return ngettext("due in {n} day", "due in {n} days", days).format(n=days)


def cell_words(plane: Plane, cell: PlaneCell) -> tuple[str, str, str, str]:
    """Return a pair of the map as its table has it: both values, the chance, and its interval."""
    x, y = (show_amount(d, v, SHORT_PLACES) for d, v in ((plane.x, cell.x), (plane.y, cell.y)))
    return x, y, show_chance(cell.p), _ends(cell.low, cell.high)
