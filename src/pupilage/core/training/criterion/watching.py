"""Watching the learner: what the last tries and what was seen say about how the dog bears the session.

Milder and earlier than `welfare`, which stops a session: these suggest something easier, another reinforcer, a break,
or an end on an easy one. The trainer who looks at the dog knows more than any of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from statistics import median

from pupilage.core.catalogue.behaviour import Scoring
from pupilage.core.training.criterion.pace import rate_within
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial
from pupilage.core.training.record.seen import Seen, StressSign, mouths_of, signs_of
from pupilage.core.words import Sentence, sentence

SIGNS_EASIER = 2
SIGNS_END = 3
"""Two or more signs in a session: lower or stop (trade practice; TRADE 7.3 after AVSAB 2021, from memory). That two
ask for something easier and three for an end is an assumption, no source."""

MOUTH_BREAK = 3
MOUTH_BROKEN = 4
MOUTH_ROUGH = 2
N_ROUGH = 2
MOUTHS_READ = 3
"""Pressure in two of the last three takings, or one mark. Common practice, no source."""

LATELY = 6
BEFORE = 5
MISSES_LATELY = 4
MISSES_BEFORE = 0.2
"""Four of the last six missed, where at most one in five was before. Common practice, no source."""

LATENCIES = 4
LATENCIES_BEFORE = 5
SLOWER = 1.7
SLOWER_S = 0.5
"""The median of the last four starts is 1.7 times that of the earlier ones and half a second longer, where `welfare`
stops the session at twice and a second. Common practice, no source."""

PACE_FALL = 0.4
"""The last six tries earn two fifths or less a minute of what the earlier ones did (`welfare` stops at a third).

All these figures were set so that one steady session in ten is troubled for nothing (docs/science/watching.md).
"""


class Suggestion(StrEnum):
    """What to do about it. The order is that of how much it asks, the most first."""

    END = "end"
    BREAK = "break"
    EASIER = "easier"
    OTHER_REINFORCER = "other-reinforcer"


@dataclass(frozen=True)
class Watch:
    """One suggestion, what it rests on (`rule`), and the reason in words."""

    suggestion: Suggestion
    rule: str
    reason: Sentence


SAYS = {
    "skin": sentence(
        "Teeth broke skin: end here. Wash it with soap and water; a doctor where it is more than a scratch."
    ),
    "mark": sentence("The mouth left a mark: a break until the pup is calm, then from a flat hand or from the floor."),
    "presses": sentence(
        "The mouth presses, {n} of the last {of}: a plainer reinforcer, from a flat hand, let go on a soft mouth."
    ),
    "three_signs": sentence("{n} signs of stress in this session: one easy one, then end."),
    "two_signs": sentence("{n} signs of stress in this session: make it easier, or stop."),
    "refuses": sentence(
        "The pup did not take the food: fed enough, unwell or worried. A break, and then something it wants more."
    ),
    "misses": sentence("{n} of the last {of} missed, {before} of the {earlier} before: one easy one, then a break."),
    "latency": sentence(
        "The pup starts more slowly, {now:.1f} s after {was:.1f} s: something it wants more, or fewer tries."
    ),
    "pace": sentence(
        "Rewards fell from {was:.0f} to {now:.0f} a minute: make it easier, so that they come quickly again."
    ),
}


def watch(trials: Sequence[Trial], seen: Sequence[Seen], *, scoring: Scoring = Scoring.TRIAL) -> list[Watch]:
    """Return what this session suggests, the most urgent first; empty while all is well.

    Parameters: trials of one session, void ones included, in time order; seen in it, in time order.
    Model: fixed limits on signs, mouth, misses, latency and pace; no rule on tries looks at fewer than 9.
    Probes are watched for signs and mouth only: they measure, and may be hard.
    False alarms and what is caught: tests/unit/training/test_watching.py, docs/science/watching.md.
    """
    counted = [t for t in trials if t.outcome is not Outcome.VOID and t.kind is SessionKind.TRAINING]
    found = [
        _mouth(mouths_of(seen)),
        _signs(signs_of(seen)),
        _misses(counted),
        _latency(counted),
        None if scoring is Scoring.HOLD else _pace(counted),
    ]
    order = list(Suggestion)
    return sorted((one for one in found if one is not None), key=lambda one: order.index(one.suggestion))


def _mouth(mouths: Sequence[int]) -> Watch | None:
    if mouths and max(mouths) >= MOUTH_BROKEN:
        reason = SAYS["skin"]
        return Watch(Suggestion.END, "mouth", reason)
    lately = mouths[-MOUTHS_READ:]
    if lately and lately[-1] >= MOUTH_BREAK:
        reason = SAYS["mark"]
        return Watch(Suggestion.BREAK, "mouth", reason)
    if sum(mouth >= MOUTH_ROUGH for mouth in lately) >= N_ROUGH:
        reason = SAYS["presses"].of(
            n=sum(mouth >= MOUTH_ROUGH for mouth in lately),
            of=len(lately),
        )
        return Watch(Suggestion.OTHER_REINFORCER, "mouth", reason)
    return None


def _signs(signs: Sequence[StressSign]) -> Watch | None:
    if len(signs) >= SIGNS_END:
        reason = SAYS["three_signs"].of(n=len(signs))
        return Watch(Suggestion.END, "signs", reason)
    if len(signs) >= SIGNS_EASIER:
        reason = SAYS["two_signs"].of(n=len(signs))
        return Watch(Suggestion.EASIER, "signs", reason)
    if StressSign.REFUSES_FOOD in signs:
        reason = SAYS["refuses"]
        return Watch(Suggestion.BREAK, "signs", reason)
    return None


def _misses(counted: Sequence[Trial]) -> Watch | None:
    before, lately = counted[:-LATELY], counted[-LATELY:]
    n_before, n_lately = (sum(t.outcome is Outcome.MISSED for t in part) for part in (before, lately))
    if len(before) < BEFORE or n_lately < MISSES_LATELY or n_before > MISSES_BEFORE * len(before):
        return None
    reason = SAYS["misses"].of(
        n=n_lately,
        of=LATELY,
        before=n_before,
        earlier=len(before),
    )
    return Watch(Suggestion.BREAK, "misses", reason)


def _latency(counted: Sequence[Trial]) -> Watch | None:
    latencies = [t.latency_s for t in counted if t.latency_s is not None]
    before, lately = latencies[:-LATENCIES], latencies[-LATENCIES:]
    if len(before) < LATENCIES_BEFORE:
        return None
    was, now = median(before), median(lately)
    if now < SLOWER * was or now - was < SLOWER_S:
        return None
    reason = SAYS["latency"].of(
        now=now,
        was=was,
    )
    return Watch(Suggestion.OTHER_REINFORCER, "latency", reason)


def _pace(counted: Sequence[Trial]) -> Watch | None:
    if len(counted) < BEFORE + LATELY:
        return None
    was, now = rate_within(counted[:-LATELY]), rate_within(counted[-LATELY - 1 :])
    if was is None or now is None or now > PACE_FALL * was:
        return None
    reason = SAYS["pace"].of(
        was=was,
        now=now,
    )
    return Watch(Suggestion.EASIER, "pace", reason)
