"""Opportunities by the log: of the times that something was there, how many ended in an incident."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from pupilage.core.incidents.record import LASTING, Before, Incident
from pupilage.core.incidents.stretches import Stretch, both
from pupilage.core.training.posterior.intervals import clopper_pearson


@dataclass(frozen=True)
class Occasions:
    """Of n times that something was there, n_with had an incident; exact limits of the share."""

    before: Before
    n_with: int
    n: int
    low: float
    high: float


def count_occasions(
    incidents: Sequence[Incident], *, free: Sequence[Stretch], present: Mapping[Before, Sequence[Stretch]]
) -> list[Occasions]:
    """Return, for what lasts and was tapped, how many of its stretches had an incident, the largest share first.

    Model: each stretch in which the pup was free, begun and ended by taps, is one opportunity, however long; one with
    several incidents counts once. The share has Clopper and Pearson's limits.
    Parameters: incidents of one behaviour; free, present: see `opportunity.tables_of`.
    Source: Clopper & Pearson (1934), Biometrika 26, by `clopper_pearson`; by hand in
    tests/unit/incidents/test_occasions.py.
    """
    moments = [one.at for one in incidents if one.happened]
    found = []
    for before in LASTING:
        times = [stretch for stretch in present.get(before, ()) if both(free, [stretch])]
        if times:
            n_with = sum(any(at in stretch for at in moments) for stretch in times)
            found.append(Occasions(before, n_with, len(times), *clopper_pearson(n_with, len(times))))
    return sorted(found, key=lambda one: -one.n_with / one.n)
