"""What there was time and occasion for: hours and chances with each antecedent and without it."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from pupilage.core.incidents.antecedents import Chances, Times
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.record import PASSING, Before, Incident
from pupilage.core.incidents.stretches import Stretch, both, holds, hours_of, without

AFTER = timedelta(minutes=15)
"""How long “just after” lasts (an assumption; an outing is due within five minutes of these)."""

LEAST_HOURS = 0.1
"""Hours with, or without, an antecedent below which nothing is compared."""


def just_after(moments: Iterable[datetime]) -> list[Stretch]:
    """Return the quarters of an hour after the moments."""
    return [Stretch(at, at + AFTER) for at in moments]


def tables_of(
    incidents: Sequence[Incident], *, free: Sequence[Stretch], present: Mapping[Before, Sequence[Stretch]]
) -> dict[str, Times | Chances]:
    """Return, for each antecedent that can be compared, incidents and exposure with it and without it.

    Parameters: incidents of one behaviour; free: the time in which it could happen (awake and not shut in); present:
    the stretches of each antecedent that lasts. An incident counts as with an antecedent where its time lies in such a
    stretch: what the log says outranks what somebody remembers, and where no stretch is logged the antecedent is not
    compared by time. Antecedents that come and go are compared by their occasions, on which the pup went
    for it (a near miss among them: only a person was in time) or left it.
    """
    happened = [incident for incident in incidents if incident.happened and holds(free, incident.at)]
    tables: dict[str, Times | Chances] = {}
    for before, stretches in present.items():
        table = _by_time(happened, free, stretches)
        if table is not None:
            tables[before.value] = table
    for before in PASSING:
        chances = _by_occasion(incidents, before)
        if chances is not None:
            tables[before.value] = chances
    return tables


def _by_time(happened: Sequence[Incident], free: Sequence[Stretch], stretches: Sequence[Stretch]) -> Times | None:
    with_it, rest = both(free, stretches), without(free, stretches)
    if min(hours_of(with_it), hours_of(rest)) < LEAST_HOURS:
        return None
    n = sum(holds(with_it, incident.at) for incident in happened)
    return Times(Tally(n, hours_of(with_it)), Tally(len(happened) - n, hours_of(rest)))


def _by_occasion(incidents: Sequence[Incident], before: Before) -> Chances | None:
    """Return incidents among the occasions noted with the antecedent, and among those noted without it."""
    noted = [(before in incident.before, not incident.left_it) for incident in incidents]
    of_with, of_without = sum(has for has, _ in noted), sum(not has for has, _ in noted)
    if not (of_with and of_without and any(not happened for _, happened in noted)):
        return None
    return Chances(
        sum(has and happened for has, happened in noted),
        of_with,
        sum(not has and happened for has, happened in noted),
        of_without,
    )
