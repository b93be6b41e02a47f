"""Every figure on the pages of progress by a short name, as those of the pack are: what it says, and what gave it.

`progress.recall.today`, `progress.recall.goal.handover`, `progress.recall.day.2026-05-12.latency`: the name goes with
the meaning. Its number is its place in this list; the pages print none.
"""

from collections.abc import Sequence

from pupilage.core.evaluation.celeration import Celeration, say_factor
from pupilage.core.progress.days import DayLine
from pupilage.core.progress.passing import PassChance
from pupilage.core.progress.way import GoalProgress, Way
from pupilage.reports.formatting import show_chance, show_number, show_seconds
from pupilage.reports.pack.figures import Argument, Figures, Source

PREFIX = "progress"


def note_goals(figures: Figures, goals: Sequence[GoalProgress]) -> None:
    """Add the figures of a stay's page."""
    for goal in goals:
        key = f"{PREFIX}.{goal.behaviour.key}.goal"
        given: dict[str, Argument] = {"behaviour": goal.behaviour.key, "target": goal.target.key}
        _pass(figures, f"{key}.today", goal.now, Source("core.progress.passing.chance_today", given, _TODAY))
        then = Source("core.training.outlook.forecast.forecast", given, _THEN)
        _pass(figures, f"{key}.handover", goal.then, then)


_TODAY = "the chance of 8 of 10 at the goal's step, cold, from the pup's whole record"
_THEN = "the same on the hand-over day, after the sessions still planned, as worked out this morning"


def _pass(figures: Figures, key: str, chance: PassChance | None, source: Source) -> None:
    if chance is not None:
        _ends(figures, key, (chance.p, chance.low, chance.high), source)


def _ends(figures: Figures, key: str, ends: tuple[float, float, float], source: Source) -> None:
    for name, value in zip((key, f"{key}.low", f"{key}.high"), ends, strict=True):
        figures.note(name, value, show_chance(value), source)


def note_way(figures: Figures, way: Way) -> None:
    """Add the figures of a behaviour's page."""
    key = f"{PREFIX}.{way.behaviour.key}"
    given: dict[str, Argument] = {"behaviour": way.behaviour.key, "step": way.step.key, "tries": way.n_trials}
    if way.baseline is not None:
        source = Source("services.read_progress.read_baseline", given, "the cold tries before the first training")
        shown = f"{way.baseline.n_met}/{way.baseline.n}"
        figures.note(f"{key}.baseline", shown, shown, source)
    if way.today is not None:
        words = "the chance of a first, cold try at the step in practice, with its 90 % interval"
        source = Source("core.training.posterior.retention.cold_reading", given, words)
        _ends(figures, f"{key}.today", (way.today.p, way.today.low, way.today.high), source)
    for line in way.days:
        _day(figures, f"{key}.day.{line.day.isoformat()}", line, given)
    for name, found in (("met", way.met), ("missed", way.missed)):
        _celeration(figures, f"{key}.{name}.week", found, given)
    _kept(figures, key, way, given)
    _shown(figures, key, way, given)


def _day(figures: Figures, key: str, line: DayLine, given: dict[str, Argument]) -> None:
    source = Source(
        "core.progress.days.list_days", {**given, "day": line.day.isoformat()}, "the tries written down on that day"
    )
    figures.note(f"{key}.met", f"{line.n_met}/{line.n}", f"{line.n_met}/{line.n}", source)
    for name, value in (("latency", line.latency_s), ("held", line.held_s)):
        if value is not None:
            figures.note(f"{key}.{name}", value, show_seconds(value), source)
    if line.rewards_per_min is not None:
        figures.note(f"{key}.rewards", line.rewards_per_min, show_number(line.rewards_per_min), source)


def _celeration(figures: Figures, key: str, found: Celeration | None, given: dict[str, Argument]) -> None:
    if found is None:
        return
    words = f"the line through the counts per minute of {found.n_days} days, on a log axis"
    source = Source("core.evaluation.celeration.celerate", {**given, "days": found.n_days}, words)
    for name, line in ((key, found.per_week), (f"{key}.robust", found.robust)):
        for part, value in ((name, line.value), (f"{name}.low", line.low), (f"{name}.high", line.high)):
            figures.note(part, value, say_factor(value), source)


def _kept(figures: Figures, key: str, way: Way, given: dict[str, Argument]) -> None:
    if way.retention is not None:
        words = "the chance of a first, cold try after so many days without practice"
        source = Source("core.training.posterior.retention.forecast_without_practice", given, words)
        kept = way.retention
        for days, p, low, high in zip(kept.days, kept.p, kept.low, kept.high, strict=True):
            _ends(figures, f"{key}.kept.{days}", (p, low, high), source)
    if way.due_in_days is not None:
        words = (
            "the last day on which a cold try is expected to be met in three of four, at most the catalogue's interval"
        )
        source = Source("core.training.posterior.retention.days_until_due", given, words)
        figures.note(f"{key}.due", way.due_in_days, str(way.due_in_days), source)


def _shown(figures: Figures, key: str, way: Way, given: dict[str, Argument]) -> None:
    for kind, function, showings in (
        ("place", "core.progress.showings.list_places", way.places),
        ("person", "core.progress.showings.list_people", way.people),
    ):
        for n, one in enumerate(showings, start=1):
            counted = f"{one.lately.n_met}/{one.lately.n}"
            source = Source(function, {**given, "name": one.name}, "the newest tries of the sessions with this name")
            figures.note(f"{key}.{kind}{n}", counted, counted, source)
