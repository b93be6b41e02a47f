"""What two codings say, in sentences: how far they agree, how sure that is, and each moment to talk over."""

from collections.abc import Iterator

from pupilage.core.evaluation.agreement import TrialAgreement
from pupilage.core.evaluation.comparison import USUAL_MINIMUM, Comparison, Differing
from pupilage.core.training.posterior.intervals import clopper_pearson
from pupilage.core.words import Sentence, sentence


def show_moment(time_s: float) -> str:
    """Return a moment such as `1:23` or `1:02:03`; `-0:04` lies before the start."""
    sign, whole = ("-" if time_s < 0 else ""), int(abs(time_s))
    hours, rest = divmod(whole, 3600)
    minutes, seconds = divmod(rest, 60)
    return sign + (f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes}:{seconds:02}")


def say_agreement(found: Comparison) -> Iterator[Sentence]:
    """Return what a comparison says and how sure it is, a sentence each, the chief one first.

    Source of the limits: Clopper and Pearson (1934), over the moments; the usual minimum: `comparison.USUAL_MINIMUM`.
    """
    if found.share is None:
        yield sentence("Neither marked anything in {length}.", length=show_moment(found.compared_s))
    else:
        yield _share(found)
        yield _how_sure(found.n_same, len(found.moments))
    yield from _lengths(found)
    if found.likely_shift_s is not None:
        yield sentence(
            "The clocks seem to be apart: with {s:g} s added to the times of {other}, clearly more moments meet. Add "
            "them only if the two started at different moments.",
            s=round(found.likely_shift_s + found.terms.shift_s, 1),
            other=found.other.observer,
        )


def say_kappa(found: Comparison) -> Iterator[Sentence]:
    """Return how many moments one of the two marked alone, and what kappa says of the others, with its caveat."""
    n_alone = sum(pair.one is None or pair.other is None for pair in found.moments)
    if n_alone:
        yield sentence(
            "Marked by one of the two only, with nothing of the other within {s:g} s: {n}.",
            n=n_alone,
            s=found.terms.tolerance_s,
        )
    if found.matched is not None:
        yield from _kappa(found.matched, len(found.moments) - n_alone)


def say_differing(one: Differing, found: Comparison) -> Sentence:
    """Return one moment to talk over."""
    at = show_moment(one.time_s)
    first, second = found.one.observer, found.other.observer
    if one.one is None or one.other is None:
        seen_by, missed_by, code = (second, first, one.other) if one.one is None else (first, second, one.one)
        return sentence(
            "{n}, at {at}: {seen} says {code}; {missed} marked nothing there.",
            n=one.n,
            at=at,
            seen=seen_by,
            code=code or "",
            missed=missed_by,
        )
    return sentence(
        "{n}, at {at}: {first} says {one}, {second} says {other}.",
        n=one.n,
        at=at,
        first=first,
        one=one.one,
        second=second,
        other=one.other,
    )


def _share(found: Comparison) -> Sentence:
    return sentence(
        "{one} and {other} say the same of {n} of {m} moments: {percent:.0f} %.",
        one=found.one.observer,
        other=found.other.observer,
        n=found.n_same,
        m=len(found.moments),
        percent=100.0 * (found.share or 0.0),
    )


def _how_sure(n_same: int, n: int) -> Sentence:
    low, high = clopper_pearson(n_same, n)
    if low >= USUAL_MINIMUM:
        return sentence(
            "80 % is the usual minimum: reached, and surely so ({low:.0%} to {high:.0%}).", low=low, high=high
        )
    if n_same / n >= USUAL_MINIMUM:
        return sentence(
            "80 % is the usual minimum: reached, but so few moments cannot show it yet ({low:.0%} to {high:.0%}). Code "
            "another session together.",
            low=low,
            high=high,
        )
    if high < USUAL_MINIMUM:
        return sentence(
            "80 % is the usual minimum: not reached, and surely not ({low:.0%} to {high:.0%}). Talk the moments below "
            "over and sharpen the definition before the figures are relied on.",
            low=low,
            high=high,
        )
    return sentence(
        "80 % is the usual minimum: not reached, though so few moments leave it open ({low:.0%} to {high:.0%}). Talk "
        "the moments below over, and code another session.",
        low=low,
        high=high,
    )


def _kappa(matched: TrialAgreement, n: int) -> Iterator[Sentence]:
    if matched.kappa is None or matched.low is None or matched.high is None:
        yield sentence("Both used one and the same word throughout, so that there is no kappa.")
        return
    if not matched.differing:
        yield sentence("On the {n} moments that both marked they never differ, and Cohen's kappa is 1.", n=n)
    elif matched.high - matched.low < 1e-9:
        yield sentence(
            "On the {n} moments that both marked, one of the two used a single word: Cohen's kappa is {kappa:.2f}, and "
            "says nothing.",
            n=n,
            kappa=matched.kappa,
        )
    else:
        yield sentence(
            "On the {n} moments that both marked, Cohen's kappa is {kappa:.2f} (95 % limits {low:.2f} to {high:.2f}, "
            "rough with few moments): agreement beyond what chance would give.",
            n=n,
            kappa=matched.kappa,
            low=matched.low,
            high=min(1.0, matched.high),
        )
    yield sentence(
        "Kappa depends on how common the words are: where nearly everything is met, it can be low although two people "
        "nearly always agree. Read it beside the share, never alone."
    )


def _lengths(found: Comparison) -> Iterator[Sentence]:
    one, other = found.one, found.other
    if one.length_s is None and other.length_s is None:
        yield sentence(
            "Nobody wrote down how long they watched: both are taken to have watched until the last mark, {at}.",
            at=show_moment(found.compared_s),
        )
    elif one.length_s is not None and other.length_s is not None and abs(one.length_s - other.length_s) >= 1.0:
        yield sentence(
            "{one} watched for {first} and {other} for {second}: compared are the first {shared}.",
            one=one.observer,
            first=show_moment(one.length_s),
            other=other.observer,
            second=show_moment(other.length_s),
            shared=show_moment(found.compared_s),
        )
    if found.outside:
        yield sentence(
            "Marks outside what both watched: {n}; they count for nothing here, and are listed.",
            n=len(found.outside),
        )
