"""What to record next: which line of the record tells most in the week to come, and how long until its range halves.

The rule, stated: of all antecedents, the one comes first for which one more week of tapping is expected to narrow the
range of its ratio most (the logarithm of the standard deviations' quotient). What is tapped already narrows more
slowly, so what is missing comes first by itself; among those that are equal, what people ticked most often.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf, log

from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.antecedents import FEWEST, PRIOR_SD
from pupilage.core.incidents.opportunity import LEAST_HOURS
from pupilage.core.incidents.rates import PRIOR_COUNT
from pupilage.core.incidents.record import LASTING, PASSING, Before, Incident
from pupilage.core.incidents.stretches import Stretch, both, hours_of
from pupilage.core.words import Sentence, sentence

GUESSED_SHARE = 0.15
"""Share of the free time, or of the occasions, with an antecedent that nobody has tapped yet (an assumption)."""

LEFT_PER_INCIDENT = 1.0
"""Times it looks and leaves it for each incident, while nobody has written any down (an assumption)."""

WEEK_DAYS = 7.0
LONG_DAYS = 60.0
"""Beyond this no stay waits for the figure: arranging it away and comparing tells sooner."""


@dataclass(frozen=True)
class Worth:
    """What recording one antecedent is worth.

    gain: expected narrowing by a week of it, ln(sd now ÷ sd then); days_to_halve: until the range is half as wide, at
    the present pace, infinite where nothing happens; n_to_halve: the incidents (or occasions) that takes; is_missing:
    nothing to compare it by yet; n_ticked: incidents at which somebody noted it.
    """

    before: Before
    gain: float
    days_to_halve: float
    n_to_halve: float
    is_missing: bool
    n_ticked: int


@dataclass(frozen=True)
class Pace:
    """How much of the behaviour there is to learn from: incidents, free hours, and days with free hours."""

    n: int
    hours: float
    n_days: int

    def __post_init__(self) -> None:
        if self.n < 0 or self.hours < 0.0 or self.n_days < 0:
            raise InvalidInput.of("pace", "Counts, hours and days cannot be below 0; count them again.")

    @property
    def a_day(self) -> float:
        """Return the incidents expected in a day: (n + ½) ÷ days, as with a Jeffreys prior."""
        return (self.n + PRIOR_COUNT) / self.n_days if self.n_days else inf


def information(n: float, share: float) -> float:
    """Return what n incidents tell of the logarithm of a rate ratio: its inverse variance.

    Model: the variance is 1/n₁ + 1/n₀; without a difference n·s of the incidents fall into the share s of the time,
    and the inverse is n·s·(1 − s). Most at a half, nothing at 0 and at 1.
    Parameters: n incidents, 0 or more; share 0 to 1.
    Source: Rothman (1986), Modern Epidemiology, ch. 11 (variance of a log rate ratio, from memory); checked by
    simulation in tests/unit/incidents/test_next_record.py, by statsmodels in tests/external/test_two_dogs.py.
    """
    if n < 0.0 or not 0.0 <= share <= 1.0:
        raise InvalidInput.of("share", "A share of {share} of {n} incidents cannot be; count again.", share=share, n=n)
    return n * share * (1.0 - share)


def rank_next(
    incidents: Sequence[Incident], *, free: Sequence[Stretch], present: Mapping[Before, Sequence[Stretch]], pace: Pace
) -> list[Worth]:
    """Return what recording each antecedent is worth that somebody has to tap or note, the most telling first.

    Model: beforehand the logarithm of a ratio has variance 1 (`PRIOR_SD`²); its precision now is 1/variance + the
    information of what was recorded; a week adds the information of the incidents expected in it. Antecedents that
    come and go are compared by occasions: n·p·(1 − p)·s·(1 − s) for n occasions with a share p of incidents.
    Parameters: incidents of one behaviour, those left among them; free, present: see `opportunity.tables_of`.
    """
    found = [_by_time(before, incidents, free, present.get(before, ()), pace) for before in LASTING]
    found += [_by_occasion(before, incidents, pace) for before in PASSING]
    return sorted(found, key=lambda one: (-round(one.gain, 9), -one.n_ticked))


def _by_time(
    before: Before, incidents: Sequence[Incident], free: Sequence[Stretch], tapped: Sequence[Stretch], pace: Pace
) -> Worth:
    hours_with = hours_of(both(free, tapped))
    missing = min(hours_with, pace.hours - hours_with) < LEAST_HOURS
    share = GUESSED_SHARE if missing else hours_with / pace.hours
    have = 0.0 if missing else information(pace.n, share)
    return _worth(before, incidents, have, (pace.a_day, information(1.0, share)), missing=missing)


def _by_occasion(before: Before, incidents: Sequence[Incident], pace: Pace) -> Worth:
    n_all, left = len(incidents), sum(one.left_it for one in incidents)
    happened = sum(one.happened for one in incidents)
    ticked = sum(before in one.before for one in incidents)
    missing = left == 0 or ticked in (0, n_all)
    p = (n_all - left) / n_all if left else 1.0 / (1.0 + LEFT_PER_INCIDENT)
    share = GUESSED_SHARE if ticked in (0, n_all) else ticked / n_all
    each = p * (1.0 - p) * information(1.0, share)
    went_each = (n_all - left + PRIOR_COUNT) / (happened + PRIOR_COUNT)  # near misses come beside the incidents
    a_day = pace.a_day * went_each / p if p > 0.0 else 0.0  # every occasion, not only the incidents
    return _worth(before, incidents, 0.0 if missing else n_all * each, (a_day, each), missing=missing)


def _worth(
    before: Before, incidents: Sequence[Incident], have: float, coming: tuple[float, float], *, missing: bool
) -> Worth:
    """coming: incidents or occasions a day, and what each tells."""
    a_day, each = coming
    precision = 1.0 / PRIOR_SD**2 + have
    n_to_halve = 3.0 * precision / each if each > 0.0 else inf
    ticked = Counter(one for incident in incidents if not incident.left_it for one in incident.before)
    return Worth(
        before,
        gain=0.5 * log(1.0 + WEEK_DAYS * a_day * each / precision) if a_day < inf else 0.0,
        days_to_halve=n_to_halve / a_day if a_day > 0.0 else inf,
        n_to_halve=n_to_halve,
        is_missing=missing,
        n_ticked=ticked[before],
    )


TAP = {
    Before.UNWATCHED: sentence("Next, tap when it is loose and unwatched, and when it is watched again."),
    Before.IN_REACH: sentence("Next, tap when food or things come into reach, and when they are put away."),
    Before.VISITOR: sentence("Next, tap when a visitor comes, and when they go."),
    Before.RESIDENT_NEAR: sentence("Next, tap when the resident dog is loose with it, and when they part."),
    Before.BUSY: sentence("Next, tap when you are busy, and when you are not any more."),
    Before.BELL: sentence("Next, note each time the bell rings and it stays calm."),
    Before.NOISE: sentence("Next, note each time there is a noise and it stays calm."),
    Before.CHILD: sentence("Next, note each time a child is there and it stays calm."),
    Before.STRANGE_DOG: sentence("Next, note each time a strange dog is there and it stays calm."),
}


def say_next(found: Sequence[Worth], pace: Pace) -> list[Sentence]:
    """Return what to record next, why, and how long until it tells."""
    first = found[0]
    said = [TAP[first.before]]
    if not pace.n_days:
        return said
    if first.days_to_halve > LONG_DAYS:
        said.append(
            sentence(
                "Of all lines that tells most in a week, and a stay is too short to wait for it: put away what you "
                "suspect now, and compare before and after."
            )
        )
    else:
        said.append(
            sentence(
                "Of all lines that tells most in a week; in about {days:.0f} days its range is half as wide.",
                days=max(1.0, first.days_to_halve),
            )
        )
    if 0 < pace.n < FEWEST:
        said.append(_until_fewest(pace))
    return said


def _until_fewest(pace: Pace) -> Sentence:
    k = FEWEST - pace.n
    return sentence(
        "Until a cause can be told at the soonest: {k} more incidents, at this pace about {days:.0f} days.",
        k=k,
        days=max(1.0, k / pace.a_day),
    )
