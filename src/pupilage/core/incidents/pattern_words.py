"""Bursts, returns and harm in sentences: nobody gives up on day two, and nobody is told to hold on where it hurts."""

from collections.abc import Iterator

from pupilage.core.incidents.comparison import FIRST_DAYS, Comparison
from pupilage.core.incidents.patterns import RETURN_DAYS, Early, Harm
from pupilage.core.incidents.verdict import Verdict
from pupilage.core.words import Sentence, sentence

N_PUBLISHED = 113
SHARE_OF_BURSTS = 24
SHARE_ALONE = 36
SHARE_WITH_OTHER = 12
"""Of 100 published cases of people whose behaviour no longer gained anything: with a burst at all, where nothing else
was done, and where something else was done too (Lerman & Iwata, 1995, J. Appl. Behav. Anal. 28, 93-94, abstract)."""


def say_harm(verdict: Verdict) -> Iterator[Sentence]:
    if verdict.harm is Harm.BITE:
        yield sentence(
            "Teeth went through skin since the start. Do not wait this out: keep everybody safe apart, and ask a "
            "veterinarian, who may send you to a veterinary behaviourist, before you go on."
        )
    elif verdict.harm is Harm.MORE_SKIN:
        yield sentence(
            "Skin is broken more often since the start. Do not wait this out: make it easier again, and ask a "
            "veterinarian or a veterinary behaviourist."
        )
    elif verdict.harm is Harm.KIND and verdict.early in (Early.RISE, Early.STILL_UP):
        yield sentence(
            "More often since the start, and with this behaviour a rise is never waited out: go back to what was easy, "
            "give room, and ask a veterinarian or a veterinary behaviourist."
        )


def say_early(verdict: Verdict) -> Iterator[Sentence]:
    if verdict.harm is not Harm.NONE:
        return
    if verdict.early is Early.RISE:
        yield _rise(verdict)
    elif verdict.early is Early.BURST:
        yield from _burst(verdict.comparison)
    elif verdict.early is Early.STILL_UP:
        yield sentence(
            "More often in the first {n} days, and not rarer after them: do not wait for it to pass. Look what it "
            "still gains, and change the plan.",
            n=FIRST_DAYS,
        )


def _rise(verdict: Verdict) -> Sentence:
    if verdict.phase is not None and verdict.phase.gain_stops:
        return sentence(
            "More often in these first days. That may be an extinction burst: what it gained has stopped, so it tries "
            "harder for a few days. In {n} published cases (of people, not dogs) it came in {all} of 100; in {alone} "
            "of 100 where nothing else was done, in {other} of 100 where something else was too. Hold on, let it gain "
            "nothing by it, and pay what it does instead well. After day {day} this page can tell more.",
            n=N_PUBLISHED,
            all=SHARE_OF_BURSTS,
            alone=SHARE_ALONE,
            other=SHARE_WITH_OTHER,
            day=2 * FIRST_DAYS,
        )
    return sentence(
        "More often in these first days. Look first whether what you arranged was in place each time. A few days are "
        "too few to give the plan up: pay what it does instead well, and look again after day {day}.",
        day=2 * FIRST_DAYS,
    )


def _burst(compared: Comparison | None) -> Iterator[Sentence]:
    yield sentence(
        "The first {n} days had more than before, and the days after them fewer: that fits an extinction burst, "
        "and it is over. Such a rise was no sign that the plan failed.",
        n=FIRST_DAYS,
    )
    if compared is not None and compared.without_first_days is not None:
        yield sentence(
            "Without those {n} days it is {ratio:.2f} times as often as before ({low:.2f} to {high:.2f}).",
            n=FIRST_DAYS,
            ratio=compared.without_first_days.value,
            low=compared.without_first_days.low,
            high=compared.without_first_days.high,
        )


def say_back(verdict: Verdict) -> Iterator[Sentence]:
    back = verdict.back
    if back is None or verdict.harm in (Harm.BITE, Harm.MORE_SKIN):
        return
    if back.named:
        yield sentence(
            "After {quiet} quiet days it came back on {day}, {n} times in {window} days or fewer. That fits "
            "spontaneous recovery: it returns after a pause, as a rule weaker. Go on exactly as before.",
            window=RETURN_DAYS,
            quiet=back.quiet_days,
            day=back.since.isoformat(),
            n=back.n,
        )
    else:
        yield sentence(
            "{quiet} quiet days, then it was back on {day}. So rare, such gaps and returns come by chance: it is no "
            "sign that the plan failed.",
            quiet=back.quiet_days,
            day=back.since.isoformat(),
        )
