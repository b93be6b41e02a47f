"""How time alone grows: the calm time at the end of each day, and the first stretch beside the latest."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta, tzinfo

from pupilage.core.clock import local_day
from pupilage.core.incidents.alone import Absence, Calm, Sign, read_calm, span
from pupilage.core.incidents.survival import SurvivalCurve, Wait, compare_waits, survival_of
from pupilage.core.words import Sentence, sentence

STRETCH = timedelta(days=7)
FEWEST_WAITS = 5
"""Absences in each stretch from which the two are compared."""

FEWEST_SIGNS = 3
"""Signs in the two together; a curve without a sign has no shape."""

SURE_P = 0.05

STUCK_AFTER = timedelta(days=14)
"""No progress for two weeks with a plan that was followed goes to a veterinarian (from memory)."""

STUCK_ABSENCES = 8
"""Absences in those two weeks from which one can say so (an assumption)."""


STUCK = sentence(
    "Two weeks of practice have not made it calm for longer: show the record to a veterinarian, who may send you to a "
    "veterinary behaviourist."
)


@dataclass(frozen=True)
class CalmDay:
    """A day on which it was left, and how long it stayed calm by all that was known at its end."""

    day: date
    n: int
    n_signs: int
    longest_calm_s: float | None
    calm: Calm


@dataclass(frozen=True)
class Stretches:
    """The first week alone beside the latest: None where either is too thin. p: of the log-rank test."""

    first: SurvivalCurve
    latest: SurvivalCurve
    p: float
    longer: bool


@dataclass(frozen=True)
class Growth:
    """Days, oldest first; the two stretches; what both say, and whether nothing has moved for two weeks."""

    days: tuple[CalmDay, ...]
    stretches: Stretches | None
    says: tuple[Sentence, ...]
    is_stuck: bool


def read_growth(absences: Sequence[Absence], *, zone: tzinfo) -> Growth:
    """Return how the calm time has grown. absences: what they tell, in any order; none gives an empty growth.

    Model: `read_calm` of all up to the end of each day; a log-rank test between the first seven days and the latest
    seven, where they do not overlap. Source: as `survival.compare_waits`; tests/external/test_alone_page.py.
    """
    ordered = sorted(absences, key=lambda one: one.at)
    days = tuple(_days(ordered, zone))
    stretches = _stretches(ordered)
    is_stuck = _is_stuck(ordered)
    return Growth(days, stretches, tuple(_says(days, stretches)), is_stuck)


def say_curve(curve: SurvivalCurve, waits: Sequence[Wait]) -> Sentence:
    """Return what a curve says where five absences or more still ran, and how sure it is, in one sentence."""
    if len(waits) < FEWEST_WAITS:
        return sentence(
            "Not enough yet to say how long it stays calm: have {n}, need {need}.", n=curve.n, need=FEWEST_WAITS
        )
    seconds = sorted(wait.seconds for wait in waits)[-FEWEST_WAITS]
    limits = curve.limits_at(seconds)
    if limits is None:
        return sentence(
            "No sign within {time} so far; {n} absences, and only {few} as long as that.",
            time=span(seconds),
            n=curve.n,
            few=FEWEST_WAITS,
        )
    return sentence(
        "{p:.0%} stayed calm for {time} (95 % limits {low:.0%} to {high:.0%}; {n} absences, {k} with a sign).",
        p=curve.at(seconds),
        low=limits[0],
        high=limits[1],
        time=span(seconds),
        n=curve.n,
        k=curve.n_happened,
    )


def say_growth(latest: CalmDay) -> Sentence:
    """Return how long it stays calm by all that is known at a day's end, and how sure that is."""
    calm = latest.calm
    return sentence(
        "Nine in ten absences of {time} would stay calm (90 % interval {low} to {high}, from {n} absences).",
        time=span(calm.sure_s),
        low=span(calm.low_s),
        high=span(calm.high_s),
        n=calm.n,
    )


def _days(ordered: Sequence[Absence], zone: tzinfo) -> list[CalmDay]:
    by_day: dict[date, list[Absence]] = {}
    for one in ordered:
        by_day.setdefault(local_day(one.at, zone), []).append(one)
    found, so_far = [], list[Absence]()
    for day, own in by_day.items():
        so_far += own
        calm = [one.seconds for one in own if one.sign is Sign.NONE]
        found.append(CalmDay(day, len(own), len(own) - len(calm), max(calm, default=None), read_calm(so_far)))
    return found


def _stretches(ordered: Sequence[Absence]) -> Stretches | None:
    if not ordered:
        return None
    from_start, from_end = ordered[0].at + STRETCH, ordered[-1].at - STRETCH
    first = [one for one in ordered if one.known and one.at < from_start]
    latest = [one for one in ordered if one.known and one.at > from_end]
    n_signs = sum(one.sign is not Sign.NONE for one in (*first, *latest))
    if from_end < from_start or min(len(first), len(latest)) < FEWEST_WAITS or n_signs < FEWEST_SIGNS:
        return None
    waits = _waits(first), _waits(latest)
    _, p = compare_waits(*waits)
    return Stretches(survival_of(waits[0]), survival_of(waits[1]), p, _rate(latest) < _rate(first))


def _waits(absences: Sequence[Absence]) -> list[Wait]:
    return [Wait(one.seconds, one.sign is not Sign.NONE) for one in absences]


def _rate(absences: Sequence[Absence]) -> float:
    """Return signs a second alone: it says which way two curves differ."""
    return sum(one.sign is not Sign.NONE for one in absences) / sum(one.seconds for one in absences)


def _is_stuck(ordered: Sequence[Absence]) -> bool:
    """Return whether signs come as soon in the last week as in the one before, although it was practised."""
    if not ordered or ordered[-1].at - ordered[0].at < STUCK_AFTER - timedelta(days=1):
        return False
    known = [one for one in ordered if one.known and one.at > ordered[-1].at - STUCK_AFTER]
    later = [one for one in known if one.at > ordered[-1].at - STRETCH]
    earlier = [one for one in known if one.at <= ordered[-1].at - STRETCH]
    n_signs = sum(one.sign is not Sign.NONE for one in later)
    if len(known) < STUCK_ABSENCES or not earlier or n_signs < FEWEST_SIGNS:
        return False
    return _rate(later) >= _rate(earlier)


def _says(days: Sequence[CalmDay], stretches: Stretches | None) -> list[Sentence]:
    if not days:
        return []
    says = [say_growth(days[-1])]
    if stretches is None:
        thin = sentence(
            "Its first week and its latest cannot be compared yet; that takes {n} absences in each, {k} signs.",
            n=FEWEST_WAITS,
            k=FEWEST_SIGNS,
        )
        return [*says, thin]
    return [*says, _compared(stretches)]


def _compared(stretches: Stretches) -> Sentence:
    p = stretches.p
    if p > SURE_P:
        return sentence("Between its first week and the latest no difference shows yet (log-rank p = {p:.2f}).", p=p)
    if stretches.longer:
        return sentence("It stays calm for longer in the latest week than in its first (log-rank p = {p:.3f}).", p=p)
    return sentence("It stays calm for less time in the latest week than in its first (log-rank p = {p:.3f}).", p=p)
