"""What the record says of one unwanted behaviour: how often, since when, what it has in common, what it gains.

Every answer says how sure it is; where the record is too thin it says so, and what to write down next.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta, tzinfo
from math import log

from pupilage.core.clock import day_bounds, local_day
from pupilage.core.incidents.antecedents import FEWEST, Suspect, weigh_antecedents
from pupilage.core.incidents.changes import FEWEST_DAYS, Change, weigh_change
from pupilage.core.incidents.gains import GainShare, say_gains, weigh_gains
from pupilage.core.incidents.opportunity import tables_of
from pupilage.core.incidents.rates import Interval, Tally, rate_of
from pupilage.core.incidents.record import LASTING, Before, Incident
from pupilage.core.incidents.stretches import Stretch, both, holds, hours_of
from pupilage.core.words import Sentence, sentence

CHANGED = log(3.0)
"""Evidence of three to one, from which a change of rate is named."""

HOURS_OF_DAY = ((6, 10), (10, 14), (14, 18), (18, 22))
LEAST_HOURS = 1.0


@dataclass(frozen=True)
class PartOfDay:
    """A part of the day: local hours from, until; incidents a free hour, None with under an hour watched."""

    from_hour: int
    until_hour: int
    n: int
    hours: float
    rate: Interval | None


@dataclass(frozen=True)
class Answers:
    """What the record says of one behaviour.

    n: incidents; n_left: times it looked and left it; n_outside: incidents in hours that no log covers, counted in no
    rate; hours: free hours watched; rate: incidents an hour; change: where the days are enough; changed_after: the
    last day with the old rate, None where no change shows; suspects, gains: the likeliest first; says: sentences, the
    most useful first; next: what to write down to find out soonest.
    """

    n: int
    n_left: int
    n_outside: int
    hours: float
    rate: Interval | None
    parts: tuple[PartOfDay, ...]
    change: Change | None
    changed_after: date | None
    suspects: tuple[Suspect, ...]
    gains: tuple[GainShare, ...]
    says: tuple[Sentence, ...]
    next: tuple[Sentence, ...]


def answer(
    incidents: Sequence[Incident],
    *,
    free: Sequence[Stretch],
    present: Mapping[Before, Sequence[Stretch]],
    zone: tzinfo,
) -> Answers:
    """Return the answers for the incidents of one behaviour.

    Parameters: incidents, of one behaviour, those left among them; free, present: see `opportunity.tables_of`.
    """
    happened = [incident for incident in incidents if not incident.left_it]
    inside = [incident for incident in happened if holds(free, incident.at)]
    hours = hours_of(free)
    rate = rate_of(Tally(len(inside), hours)) if hours >= LEAST_HOURS else None
    change, changed_after = _change(inside, free, zone)
    suspects = weigh_antecedents(tables_of(incidents, free=free, present=present)) if happened else []
    gains = weigh_gains(Counter(incident.gained for incident in happened if incident.gained is not None))
    return Answers(
        n=len(happened),
        n_left=len(incidents) - len(happened),
        n_outside=len(happened) - len(inside),
        hours=hours,
        rate=rate,
        parts=tuple(_parts(inside, free, zone)),
        change=change,
        changed_after=changed_after,
        suspects=tuple(suspects),
        gains=tuple(gains),
        says=tuple(_says(len(happened), rate, change, changed_after, suspects, gains)),
        next=tuple(_next(happened, present, len(incidents) - len(happened))),
    )


def _change(inside: Sequence[Incident], free: Sequence[Stretch], zone: tzinfo) -> tuple[Change | None, date | None]:
    hours: dict[date, float] = {}
    for stretch in free:
        day = local_day(stretch.start, zone)
        hours[day] = hours.get(day, 0.0) + stretch.length / timedelta(hours=1)
    days = sorted(day for day, total in hours.items() if total > 0.0)
    if len(days) < FEWEST_DAYS:
        return None, None
    counts = Counter(local_day(incident.at, zone) for incident in inside)
    change = weigh_change([counts[day] for day in days], [hours[day] for day in days])
    return change, days[change.mode] if change.log_bayes_factor >= CHANGED else None


def _parts(inside: Sequence[Incident], free: Sequence[Stretch], zone: tzinfo) -> list[PartOfDay]:
    days = sorted({local_day(stretch.start, zone) for stretch in free})
    parts = []
    for start, end in HOURS_OF_DAY:
        window = [_window(day, start, end, zone) for day in days]
        hours = hours_of(both(free, window))
        n = sum(holds(window, incident.at) for incident in inside)
        parts.append(PartOfDay(start, end, n, hours, rate_of(Tally(n, hours)) if hours >= LEAST_HOURS else None))
    return parts


def _window(day: date, start: int, end: int, zone: tzinfo) -> Stretch:
    midnight = day_bounds(day, zone)[0].astimezone(zone)
    return Stretch(midnight.replace(hour=start), midnight.replace(hour=end))


def _says(
    n: int,
    rate: Interval | None,
    change: Change | None,
    changed_after: date | None,
    suspects: Sequence[Suspect],
    gains: Sequence[GainShare],
) -> list[Sentence]:
    said = []
    if n == 0:
        none = sentence("Not once so far.")
        return [none] if rate is None else [none, _at_most(rate)]
    if rate is not None:
        said.append(
            sentence(
                "About {rate:.1f} in ten free hours; {low:.1f} to {high:.1f} fit the record.",
                rate=10 * rate.value,
                low=10 * rate.low,
                high=10 * rate.high,
            )
        )
    if n < FEWEST:
        said.append(sentence("{n} incidents cannot tell a cause; {least} are the fewest that can.", n=n, least=FEWEST))
    elif called := [suspect for suspect in suspects if suspect.is_called]:
        said.append(_cause(called[0]))
    else:
        said.append(sentence("Nothing they have in common stands out from chance yet."))
    if change is not None and changed_after is not None:
        said.append(_changed(change, changed_after))
    if any(one.n for one in gains):
        said.append(say_gains(list(gains)))
    return said


def _at_most(rate: Interval) -> Sentence:
    return sentence("The record still fits up to {high:.1f} in ten free hours.", high=10 * rate.high)


def _cause(suspect: Suspect) -> Sentence:
    return sentence(
        "{k} of {n} came with the first line of the list below: about {ratio:.1f} times as likely then "
        "({low:.1f} to {high:.1f}). It goes together; that it is the cause shows when you change it.",
        k=suspect.n,
        n=suspect.n_all,
        ratio=suspect.shrunk.value,
        low=suspect.shrunk.low,
        high=suspect.shrunk.high,
    )


def _changed(change: Change, day: date) -> Sentence:
    on, old, new = day.isoformat(), 10 * change.rate_before, 10 * change.rate_after
    if new < old:
        return sentence(
            "Rarer since about {day}: {old:.1f}, now {new:.1f} in ten free hours.", day=on, old=old, new=new
        )
    return sentence(
        "More often since about {day}: {old:.1f}, now {new:.1f} in ten free hours.", day=on, old=old, new=new
    )


def _next(happened: Sequence[Incident], present: Mapping[Before, Sequence[Stretch]], n_left: int) -> list[Sentence]:
    asked = []
    if not any(present.get(before) for before in LASTING):
        asked.append(
            sentence("Tap when it is loose and unwatched, or food is in reach: without that time no rate can compare.")
        )
    if n_left == 0:
        asked.append(sentence("Write down the times it looked and left it, too: they tell as much as the others."))
    if happened and sum(incident.gained is not None for incident in happened) < len(happened) / 2:
        asked.append(sentence("Note what it had by it each time: a look, the thing, a chase, relief."))
    return asked
