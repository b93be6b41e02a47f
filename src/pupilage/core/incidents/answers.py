"""What the record says of one unwanted behaviour: how often, since when, what it has in common, what it gains.

Every answer says how sure it is; where the record is too thin it says so, and what to write down next.
"""

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo
from math import log

from pupilage.core.clock import local_day
from pupilage.core.incidents.antecedents import FEWEST, Suspect, weigh_antecedents
from pupilage.core.incidents.bursts import Bursts, weigh_bursts
from pupilage.core.incidents.changes import FEWEST_DAYS, Change
from pupilage.core.incidents.days import DayCount, count_days, weigh_days
from pupilage.core.incidents.daytimes import curve_by_time
from pupilage.core.incidents.gains import GainShare, say_gains, weigh_gains
from pupilage.core.incidents.leaving import Leaving, weigh_leaving
from pupilage.core.incidents.next_record import Pace, Worth, rank_next, say_next
from pupilage.core.incidents.occasions import Occasions, count_occasions
from pupilage.core.incidents.opportunity import tables_of
from pupilage.core.incidents.rates import Interval, Tally, rate_of
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.since import Since, curves_since
from pupilage.core.incidents.slots import LEAST_HOURS, Curve
from pupilage.core.incidents.stretches import Stretch, holds, hours_of
from pupilage.core.words import Sentence, sentence

CHANGED = log(3.0)
"""Evidence of three to one, from which a change of rate is named."""


@dataclass(frozen=True)
class Answers:
    """What the record says of one behaviour.

    n: incidents; n_left: times it looked and left it; n_near: times it began and somebody was in time; n_outside:
    incidents in hours that no log covers, counted in no rate; hours: free hours watched; rate: incidents an hour;
    days: those watched; change: where the days are enough; changed_after: the last day with the old rate, None
    where no change shows; times: by hour of the day; since: by the minutes since something; bursts: where the
    incidents are enough; suspects, gains: the likeliest first; leaving: how often it is left; says: sentences, the
    most useful first; says_cause, says_change: of what they have in common, and since when; next: what to write
    down to find out soonest; worth: what recording each antecedent tells, by which the next is chosen; occasions: of
    the times that something was there, those that ended in an incident.
    """

    n: int
    n_left: int
    n_near: int
    n_outside: int
    hours: float
    rate: Interval | None
    days: tuple[DayCount, ...]
    change: Change | None
    changed_after: date | None
    times: Curve
    since: Mapping[Since, Curve]
    bursts: Bursts | None
    suspects: tuple[Suspect, ...]
    gains: tuple[GainShare, ...]
    leaving: Leaving
    says: tuple[Sentence, ...]
    says_cause: Sentence | None
    says_change: Sentence | None
    next: tuple[Sentence, ...]
    worth: tuple[Worth, ...]
    occasions: tuple[Occasions, ...]


def answer(
    incidents: Sequence[Incident],
    *,
    free: Sequence[Stretch],
    present: Mapping[Before, Sequence[Stretch]],
    moments: Mapping[Since, Sequence[datetime]],
    zone: tzinfo,
    never: Collection[Before] = (),
) -> Answers:
    """Return the answers for the incidents of one behaviour.

    Parameters: incidents, of one behaviour, those left among them; free, present: see `opportunity.tables_of`; moments:
    when the pup woke, ate, was out, and had played; never: antecedents that cannot be, such as a resident dog where
    there is none: not asked for.
    """
    happened = [incident for incident in incidents if incident.happened]
    ats = [incident.at for incident in happened if holds(free, incident.at)]
    hours = hours_of(free)
    rate = rate_of(Tally(len(ats), hours)) if hours >= LEAST_HOURS else None
    days = count_days(ats, free, zone)
    change, changed_after = _change(days)
    suspects = weigh_antecedents(tables_of(incidents, free=free, present=present)) if happened else []
    gains = weigh_gains(Counter(incident.gained for incident in happened if incident.gained is not None))
    leaving = weigh_leaving(incidents)
    pace = Pace(len(ats), hours, len({local_day(stretch.start, zone) for stretch in free}))
    worth = [one for one in rank_next(incidents, free=free, present=present, pace=pace) if one.before not in never]
    return Answers(
        n=len(happened),
        n_left=sum(incident.left_it for incident in incidents),
        n_near=sum(incident.near_miss for incident in incidents),
        n_outside=len(happened) - len(ats),
        hours=hours,
        rate=rate,
        days=tuple(days),
        change=change,
        changed_after=changed_after,
        times=curve_by_time(ats, free, zone),
        since=curves_since(ats, free=free, moments=moments),
        bursts=_bursts(ats, free, changed_after, zone),
        suspects=tuple(suspects),
        gains=tuple(gains),
        leaving=leaving,
        says=(*_says(len(happened), hours, rate, gains), *leaving.says),
        says_cause=_cause(len(happened), suspects) if happened else None,
        says_change=_changed(change, changed_after) if change is not None and changed_after is not None else None,
        next=tuple(_next(happened, say_next(worth, pace) if happened else [], leaving)),
        worth=tuple(worth),
        occasions=tuple(count_occasions(happened, free=free, present=present)),
    )


def _change(days: Sequence[DayCount]) -> tuple[Change | None, date | None]:
    if len(days) < FEWEST_DAYS:
        return None, None
    change = weigh_days(days)
    return change, days[change.mode].day if change.log_bayes_factor >= CHANGED else None


def _bursts(
    ats: Sequence[datetime], free: Sequence[Stretch], changed_after: date | None, zone: tzinfo
) -> Bursts | None:
    """Weigh bursts where the rate is one: since the change, where there was one."""
    if changed_after is None:
        return weigh_bursts(ats, free=free)
    return weigh_bursts(ats, free=[stretch for stretch in free if local_day(stretch.start, zone) > changed_after])


def _says(n: int, hours: float, rate: Interval | None, gains: Sequence[GainShare]) -> list[Sentence]:
    said = []
    if n == 0:
        none = sentence("Not once so far.")
        return [none, _no_rate(hours)] if rate is None else [none, _at_most(rate)]
    if rate is None:
        said.append(_no_rate(hours))
    else:
        said.append(
            sentence(
                "About {rate:.1f} in ten free hours; {low:.1f} to {high:.1f} fit the record.",
                rate=10 * rate.value,
                low=10 * rate.low,
                high=10 * rate.high,
            )
        )
    if any(one.n for one in gains):
        said.append(say_gains(list(gains)))
    return said


def _no_rate(hours: float) -> Sentence:
    if hours == 0.0:
        return sentence("No free hour is in the log, so a rate cannot be told: write down naps, outings and meals.")
    return sentence("{hours:.1f} free hours are in the log; a rate needs one hour at least.", hours=hours)


def _at_most(rate: Interval) -> Sentence:
    return sentence("The record still fits up to {high:.1f} in ten free hours.", high=10 * rate.high)


def _cause(n: int, suspects: Sequence[Suspect]) -> Sentence:
    if n < FEWEST:
        return sentence("{n} incidents cannot tell a cause; {least} are the fewest that can.", n=n, least=FEWEST)
    called = next((suspect for suspect in suspects if suspect.is_called), None)
    if called is None:
        return sentence("Nothing they have in common stands out from chance yet.")
    return sentence(
        "{k} of {n} came with the first line of the list below: about {ratio:.1f} times as likely then "
        "({low:.1f} to {high:.1f}). It goes together; that it is the cause shows when you change it.",
        k=called.n,
        n=called.n_all,
        ratio=called.shrunk.value,
        low=called.shrunk.low,
        high=called.shrunk.high,
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


def _next(happened: Sequence[Incident], soonest: Sequence[Sentence], leaving: Leaving) -> list[Sentence]:
    asked = list(soonest)
    if leaving.n_left == 0:
        asked.append(sentence("Write down the times it looked and left it, too: they tell as much as the others."))
    if happened and sum(incident.gained is not None for incident in happened) < len(happened) / 2:
        asked.append(sentence("Note what it had by it each time: a look, the thing, a chase, relief."))
    return asked
