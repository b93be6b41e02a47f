"""What a plan's figures say, in sentences, the most urgent first."""

from collections.abc import Iterator
from math import isfinite

from pupilage.core.incidents.comparison import Comparison
from pupilage.core.incidents.pattern_words import say_back, say_early, say_harm
from pupilage.core.incidents.patterns import Early
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.verdict import Verdict
from pupilage.core.words import Sentence, sentence

LONG_WITHOUT_FALL = 14
"""Days with a plan after which, without a fall, somebody else should look (common practice, no source)."""


def say_plan(verdict: Verdict) -> tuple[Sentence, ...]:
    """Return what to know, the most urgent first."""
    if verdict.starts_on is None:
        return (sentence("No plan yet. Arrange one thing, teach what it does instead, and note the day you begin."),)
    if not verdict.has_begun:
        return (sentence("It begins on {day}. The days until then are “before”.", day=verdict.starts_on.isoformat()),)
    return tuple(
        said
        for part in (say_harm, _compared, _since_first, say_early, say_back, _doubts, _changed, _long)
        for said in part(verdict)
    )


def say_effect(comparison: Comparison | None) -> tuple[Sentence, ...]:
    """Return the effect sizes in plain words, each with its caveat."""
    if comparison is None or comparison.effect is None:
        return (sentence("Three days of an hour or more are needed before the start and since it."),)
    effect = comparison.effect
    return (
        sentence(
            "NAP {nap:.2f}: take a day before and a day with the plan by chance; so often is the later one better, "
            "ties counting half. 0.50 is no effect. Tau {tau:.2f} is the same from −1 to 1.",
            nap=effect.nap,
            tau=effect.tau,
        ),
        sentence(
            "Tau-U {tau_u:.2f} takes the trend of the days before away. It hangs on how many days each side has and "
            "can pass 1: never read it alone, nor beside another pup's.",
            tau_u=effect.tau_u,
        ),
        sentence("PND cannot tell: a day before had none at all, and no day can be better than that.")
        if comparison.best_day_before == 0.0
        else sentence(
            "PND {pnd:.2f}: the share of days with the plan that are better than the best day before. One lucky day "
            "before is enough to spoil it.",
            pnd=effect.pnd,
        ),
        sentence(
            "Were all days dealt to before and after by chance, {p:.0%} of the deals would look so good. Days in a row "
            "are alike, so this is too hopeful.",
            p=effect.p,
        ),
    )


def _compared(verdict: Verdict) -> Iterator[Sentence]:
    if not verdict.has_days[0]:
        yield sentence("No watched day lies before the start: there is nothing to compare with.")
        return
    if not verdict.has_days[1] or verdict.comparison is None:
        yield sentence("No watched day since the start yet: log the day, and look again tomorrow.")
        return
    compared = verdict.comparison
    if compared.before.n == 0:
        yield _none_before(compared, verdict.n_outside)
        return
    figures = {
        "old": in_ten(compared.before),
        "new": in_ten(compared.after),
        "ratio": compared.ratio.value,
        "low": compared.ratio.low,
        "high": compared.ratio.high,
    }
    if compared.ratio.high < 1.0:
        yield sentence(
            "Rarer with the plan: {old:.1f} before, {new:.1f} now in ten free hours. That is {ratio:.2f} times as "
            "often ({low:.2f} to {high:.2f} fit the record).",
            **figures,
        )
    elif compared.ratio.low > 1.0:
        yield sentence(
            "More often with the plan: {old:.1f} before, {new:.1f} now in ten free hours. That is {ratio:.2f} times as "
            "often ({low:.2f} to {high:.2f} fit the record).",
            **figures,
        )
    else:
        yield sentence(
            "Not to be told yet: {old:.1f} before, {new:.1f} now in ten free hours, and anything from {low:.2f} to "
            "{high:.2f} times as often fits the record.",
            **figures,
        )
    if compared.unevenness > 1.0:
        yield sentence(
            "Good and bad days differ more than chance makes them ({times:.1f} times the spread), so these limits were "
            "made wider.",
            times=compared.unevenness,
        )


def _since_first(verdict: Verdict) -> Iterator[Sentence]:
    if verdict.since_first is not None and verdict.since_first.before.n > 0:
        ratio = verdict.since_first.ratio
        yield sentence(
            "That is beside the phase just before. Beside the days before any plan it is {ratio:.2f} times as often "
            "({low:.2f} to {high:.2f}).",
            ratio=ratio.value,
            low=ratio.low,
            high=ratio.high,
        )


def _none_before(compared: Comparison, n_outside: int) -> Sentence:
    if n_outside and compared.after.n == 0:
        return sentence(
            "No incident lies in logged hours, and {n} lie outside them: nothing can be compared. Log the first and "
            "the last thing of a day, and what lies between counts.",
            n=n_outside,
        )
    if compared.after.n == 0:
        return sentence("Not once before the start and not once since: there is nothing that could fall.")
    return sentence(
        "Not once in {hours:.0f} free hours before the start, {n} times since: no fall can be shown. What is new?",
        hours=compared.before.exposure,
        n=compared.after.n,
    )


def _doubts(verdict: Verdict) -> Iterator[Sentence]:
    """Return what else it may be: bad days that pass, a trend that was there, a change on another day."""
    compared = verdict.comparison
    if compared is None or compared.before.n == 0:
        return
    if compared.began_on_bad_days and compared.without_bad_days is not None:
        rest = compared.without_bad_days
        yield (
            sentence(
                "Plans begin on bad days, and bad days pass by themselves: the last days before the start were worse "
                "than those before them. Without them it is {ratio:.2f} times as often ({low:.2f} to {high:.2f}).",
                ratio=rest.value,
                low=rest.low,
                high=rest.high,
            )
            if isfinite(rest.value)
            else sentence(
                "Plans begin on bad days, and bad days pass by themselves: all of it before the start lies in the last "
                "days, and there is nothing else to compare with."
            )
        )
    if compared.trend_before is not None and compared.trend_before.high < 1.0:
        yield sentence(
            "It was getting rarer already before the start ({ratio:.2f} times as often each week); a pup grows older.",
            ratio=compared.trend_before.value,
        )
    if compared.step is not None and verdict.early is not Early.BURST:
        yield sentence(
            "Beside a steady trend through all days, the start made it {ratio:.2f} times as often ({low:.2f} to "
            "{high:.2f}).",
            ratio=compared.step.step.value,
            low=compared.step.step.low,
            high=compared.step.step.high,
        )


def _changed(verdict: Verdict) -> Iterator[Sentence]:
    """Return when the rate changed without being told of a start; a burst is two changes, and is not searched for."""
    if not verdict.has_enough_days or verdict.early is Early.BURST:
        return
    if verdict.changed is None or verdict.starts_on is None:
        yield sentence("Without being told of a start, the days show no one day on which the rate changed.")
        return
    figures = {"low": verdict.changed[0].isoformat(), "high": verdict.changed[1].isoformat()}
    if verdict.start_that_fits is not None:
        yield sentence(
            "Without being told of a start, the days put a change between {low} and {high}: what began on {day} fits.",
            day=verdict.start_that_fits.isoformat(),
            **figures,
        )
    elif min(verdict.starts) > verdict.changed[1]:
        yield sentence(
            "Without being told of a start, the days put a change between {low} and {high}, before any plan began: "
            "something else changed first.",
            **figures,
        )
    else:
        yield sentence(
            "Without being told of a start, the days put a change between {low} and {high}, when no plan began or "
            "changed: what else was new then?",
            **figures,
        )


def _long(verdict: Verdict) -> Iterator[Sentence]:
    has_both = all(verdict.has_days) and verdict.comparison is not None and verdict.comparison.before.n > 0
    if has_both and not verdict.has_fallen and verdict.n_days_since >= LONG_WITHOUT_FALL:
        yield sentence(
            "{n} days with the plan, and no fall that stands out: have a colleague look at how it is carried out, and "
            "ask a veterinarian whether pain or illness may be behind it, or a veterinary behaviourist.",
            n=verdict.n_days_since,
        )


def in_ten(tally: Tally) -> float:
    """Return incidents in ten hours."""
    return 10.0 * tally.n / tally.exposure
