"""Did the plan help: the phases of one unwanted behaviour side by side, and what else it may have been."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, tzinfo

from pupilage.core.clock import local_day
from pupilage.core.incidents.answers import CHANGED
from pupilage.core.incidents.changes import FEWEST_DAYS
from pupilage.core.incidents.comparison import Comparison, compare
from pupilage.core.incidents.days import DayCount, count_days, weigh_days
from pupilage.core.incidents.patterns import Early, Harm, Return, early_days, find_harm, find_return
from pupilage.core.incidents.phases import PhaseDays, PhaseKind, PlanPhase, split_phases
from pupilage.core.incidents.plan_words import say_effect, say_plan
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.stretches import Stretch
from pupilage.core.incidents.verdict import Verdict
from pupilage.core.words import Sentence


@dataclass(frozen=True)
class PlanAnswers:
    """What the record says of a plan. phases: before any plan, then each that has begun.

    n_outside: incidents in hours that no log covers, counted in no rate; newest: the newest phase with a plan, None
    before one has begun; comparison: that phase beside the one before it; since_first: beside the days before any plan,
    where that is another phase; changed: between which days the record alone puts a change, None where it puts none;
    start_that_fits: the first day of the newest phase that begins within them, None without one; says: what to know,
    the most urgent first; effect: the effect sizes, each with its caveat.
    """

    phases: tuple[PhaseDays, ...]
    n_outside: int
    newest: PhaseDays | None = None
    comparison: Comparison | None = None
    since_first: Comparison | None = None
    changed: tuple[date, date] | None = None
    start_that_fits: date | None = None
    early: Early = Early.NOTHING
    back: Return | None = None
    harm: Harm = Harm.NONE
    says: tuple[Sentence, ...] = ()
    effect: tuple[Sentence, ...] = ()


def answer_plan(
    incidents: Sequence[Incident],
    phases: Sequence[PlanPhase],
    *,
    free: Sequence[Stretch],
    zone: tzinfo,
    today: date,
) -> PlanAnswers:
    """Return what the days before and with a plan say of it.

    Parameters: incidents of one behaviour, in any order, those left among them (they are no incident); phases in any
    order; free: the hours in which it could happen; today: the local day.
    """
    happened = [one for one in incidents if one.happened]
    days = count_days([one.at for one in happened], free, zone)
    split = split_phases(days, phases, today=today)
    n_outside = len(happened) - sum(day.n for day in days)
    place = _newest_plan(split)
    if place is None:
        says = say_plan(Verdict(starts_on=min((phase.starts_on for phase in phases), default=None), has_begun=False))
        return PlanAnswers(
            tuple(split), n_outside, None, None, None, None, None, Early.NOTHING, None, Harm.NONE, says, ()
        )
    before, newest = split[place - 1].days, split[place]
    compared = compare(before, newest.days)
    since_first = compare(split[0].days, newest.days) if place > 1 else None
    enough = len(days) >= FEWEST_DAYS
    changed = _changed(days, compared.unevenness if compared else 1.0) if enough else None
    verdict = Verdict(
        starts_on=newest.starts_on,
        has_begun=True,
        phase=newest.phase,
        has_days=(bool(before), bool(newest.days)),
        comparison=compared,
        since_first=since_first,
        starts=tuple(one.starts_on for one in split[1:]),
        changed=changed,
        has_enough_days=enough,
        early=early_days(before, newest.days),
        back=find_return(before, newest.days),
        harm=_harm(happened, newest.starts_on, zone, today),
        n_days_since=(today - newest.starts_on).days + 1,
        n_outside=n_outside,
    )
    return PlanAnswers(
        phases=tuple(split),
        n_outside=n_outside,
        newest=newest,
        comparison=compared,
        since_first=since_first,
        changed=changed,
        start_that_fits=verdict.start_that_fits,
        early=verdict.early,
        back=verdict.back,
        harm=verdict.harm,
        says=say_plan(verdict),
        effect=say_effect(compared),
    )


def _newest_plan(split: Sequence[PhaseDays]) -> int | None:
    with_plan = [i for i, one in enumerate(split) if one.phase is not None and one.phase.kind is PhaseKind.PLAN]
    return with_plan[-1] if with_plan else None


def _changed(days: Sequence[DayCount], unevenness: float) -> tuple[date, date] | None:
    """Return the first and last day that can be the first with a new rate, None where no change shows."""
    change = weigh_days(days, unevenness)
    if change.log_bayes_factor < CHANGED:
        return None
    return days[change.low + 1].day, days[change.high + 1].day


def _harm(happened: Sequence[Incident], start: date, zone: tzinfo, today: date) -> Harm:
    if not happened:
        return Harm.NONE
    on = {one.id: local_day(one.at, zone) for one in happened}
    before = [one for one in happened if on[one.id] < start]
    since = [one for one in happened if on[one.id] >= start]
    days = ((start - min(on.values())).days, (today - start).days + 1)
    return find_harm(happened[0].behaviour, before, since, days=days)
