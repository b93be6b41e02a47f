"""Thinner pay once a behaviour is sure at its goal, and richer pay again when it weakens.

How thin the pay is follows from the record alone: every session at the goal is walked through, so the same tries give
the same plan, whatever was shown in between. Praise, and what is not food, stays free: only food is thinned.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, tzinfo
from enum import StrEnum
from statistics import median

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.training.criterion.sequential import LOWER, PER_MET, PER_MISS, UPPER, after_trial
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial, TrialSource
from pupilage.core.training.rewards.latencies import LEAST_EARLIER, NEWEST, chance_slower
from pupilage.core.words import Sentence, sentence

RATIOS = (1.0, 1.5, 2.0, 3.0, 4.0, 6.0)
"""Correct responses a pay, from every one to one in six. Thinning after mastery, gently, and back when accuracy or
latency worsens is common practice; so are the figures, and nothing beyond 3 is asked for by it."""

LEAST_PAID = 3
"""Pays that must have been earned at a thinness before the next."""

LEAST_DAYS = 2
"""Local days on which the goal's step was met, before anything is thinned."""

P_SLOWER = 0.995
RISE = 1.25
"""Latency has worsened when the newest five are slower than the earlier ones let expect, this surely and this much.
A steady dog (log-normal, sd of the log 0.45) sets it off in 13 of 100 runs of 50 starts; one that becomes twice as
slow is found in 90, within five starts as a rule (docs/science/reinforcement.md)."""

BASELINE = 30
"""The newest of the earlier latencies with which the newest five are compared."""


class Change(StrEnum):
    """Why the pay is as thin as it is."""

    NEW = "new"
    THINNED = "thinned"
    MISSES = "misses"
    SLOWER = "slower"
    EASIER = "easier"


@dataclass(frozen=True)
class Thinness:
    """How thin the pay is: `level` in RATIOS, and the sentence for it. n_met, n: tries at this thinness."""

    level: int
    reason: Sentence
    n_met: int = 0
    n: int = 0

    @property
    def ratio(self) -> float:
        """Correct responses a pay."""
        return RATIOS[self.level]


@dataclass
class _Run:
    """What has happened at the goal since the pay was last changed.

    log_ratio: Wald's test of 0.85 against 0.60, for a thinner pay; fall: the same, never above 0, for a richer one.
    """

    level: int = 0
    change: Change = Change.NEW
    n: int = 0
    n_met: int = 0
    n_paid: int = 0
    log_ratio: float = 0.0
    fall: float = 0.0
    n_in_fall: int = 0
    latencies_s: list[float] = field(default_factory=list)
    n_latencies: int = 0
    figures: dict[str, float] = field(default_factory=dict)

    def take(self, trial: Trial) -> None:
        met = trial.outcome is Outcome.MET
        self.n += 1
        self.n_met += met
        self.n_paid += met and trial.pieces > 0
        self.log_ratio = after_trial(self.log_ratio, met=met)
        self.n_in_fall = self.n_in_fall + 1 if self.fall < 0.0 else 1
        self.fall = min(0.0, self.fall + (PER_MET if met else PER_MISS))
        if met and trial.latency_s is not None and trial.latency_s > 0.0:
            self.latencies_s.append(trial.latency_s)
            self.n_latencies += 1
        if self.fall <= LOWER:
            self._go(-1, Change.MISSES, n=self.n_in_fall)
        elif (slower := self._slower()) is not None:
            self._go(-1, Change.SLOWER, before=slower[0], lately=slower[1])

    def begin_session(self) -> None:
        """Thin the pay at the start of a session, where the tries at this thinness have earned it."""
        if self.may_thin:
            self._go(1, Change.THINNED, met=self.n_met, n=self.n)

    @property
    def may_thin(self) -> bool:
        last = self.level + 1 == len(RATIOS)
        return not last and self.log_ratio >= UPPER and self.n_paid >= LEAST_PAID and self._was_followed()

    def _was_followed(self) -> bool:
        """Whether the food was in fact as thin as the plan, nearly: a dog paid every time knows no thinner pay."""
        if self.level == 0:
            return True
        halfway = (1.0 / RATIOS[self.level - 1] + 1.0 / RATIOS[self.level]) / 2.0
        return self.n_paid <= halfway * self.n_met

    def _slower(self) -> tuple[float, float] | None:
        """Return the median latency before and lately, in seconds, when the newest five are clearly slower."""
        if self.level == 0 or self.n_latencies < NEWEST or len(self.latencies_s) < NEWEST + LEAST_EARLIER:
            return None
        window = self.latencies_s[-BASELINE - NEWEST :]
        before, lately = median(window[:-NEWEST]), median(window[-NEWEST:])
        chance = chance_slower(window) if lately >= RISE * before else None
        return (before, lately) if chance is not None and chance >= P_SLOWER else None

    def go_easier(self) -> None:
        """Practice has left the goal for an easier step: what is taught again is paid more."""
        if self.level > 0:
            self._go(-1, Change.EASIER)
        self.latencies_s.clear()
        self._forget()

    def _go(self, by: int, change: Change, **figures: float) -> None:
        before = self.level
        self.level = max(0, self.level + by)
        if self.level != before:
            self.change, self.figures = change, figures
        self._forget()

    def _forget(self) -> None:
        self.n = self.n_met = self.n_paid = self.n_latencies = self.n_in_fall = 0
        self.log_ratio = self.fall = 0.0


def thin(behaviour: Behaviour, target: str, trials: Sequence[Trial], *, session_id: str, zone: tzinfo) -> Thinness:
    """Return how thin the pay is in a session, after its tries so far.

    Model: a thinner pay at the start of a session when, since the last change, Wald's test says 0.85 rather than 0.60
    (both errors 0.10), three pays were earned, and no more food was given than lies halfway to the step before. Back
    by one at once when the same test, begun anew whenever it favours 0.85 (Page, 1954), says 0.60, when latency
    worsens (`latencies.chance_slower`), or when practice goes back below the goal. The first thinning asks for two
    days at the goal.
    Parameters: trials, all of the behaviour in time order, those of this session included; target, a step's key.
    Only tapped training tries at the goal or beyond count: whether an imported one was paid is not known.
    Source: Wald, 1945, Ann. Math. Stat. 16:117-186; Page, 1954, Biometrika 41:100-115 (from memory). Run lengths in
    tests/external/test_thinning.py.
    """
    goal = behaviour.step_index(target)
    if behaviour.always_paid or goal is None:
        return Thinness(0, _always(behaviour))
    run, session, days = _Run(), "", set[date]()
    for trial in trials:
        place = behaviour.step_index(trial.step)
        if not _counts(trial) or place is None:
            continue
        if place < goal:
            run.go_easier()
            continue
        if trial.session_id != session:
            session = trial.session_id
            if run.level or len(days) >= LEAST_DAYS:
                run.begin_session()
        if trial.outcome is Outcome.MET:
            days.add(local_day(trial.at, zone))
        run.take(trial)
    if session_id != session and (run.level or len(days) >= LEAST_DAYS):
        run.begin_session()
    return Thinness(run.level, _reason(run), run.n_met, run.n)


def _counts(trial: Trial) -> bool:
    return (
        trial.kind is SessionKind.TRAINING and trial.source is TrialSource.TAPPED and trial.outcome is not Outcome.VOID
    )


def _always(behaviour: Behaviour) -> Sentence:
    if behaviour.always_paid:
        return sentence("Reward every one, for the whole stay: this behaviour is never paid less.")
    return sentence("Reward every one.")


def _reason(run: _Run) -> Sentence:
    paid, of = share_in_words(RATIOS[run.level])
    if run.level == 0:
        return _reason_for_every_one(run)
    match run.change:
        case Change.THINNED:
            return sentence(
                "At its goal, {met} of {n} met: reward about {paid} in {of} now, and praise every one.",
                met=int(run.figures["met"]),
                n=int(run.figures["n"]),
                paid=paid,
                of=of,
            )
        case Change.MISSES:
            return sentence(
                "Too many misses in the last {n} tries: back to about {paid} in {of} rewarded.",
                n=int(run.figures["n"]),
                paid=paid,
                of=of,
            )
        case Change.SLOWER:
            return sentence(
                "It began more slowly, {lately:.1f} s after {before:.1f} s: back to about {paid} in {of} rewarded.",
                lately=run.figures["lately"],
                before=run.figures["before"],
                paid=paid,
                of=of,
            )
    return sentence("Practice was back at an easier step: about {paid} in {of} rewarded.", paid=paid, of=of)


def _reason_for_every_one(run: _Run) -> Sentence:
    match run.change:
        case Change.MISSES:
            return sentence("Too many misses in the last {n} tries: reward every one again.", n=int(run.figures["n"]))
        case Change.SLOWER:
            return sentence(
                "It began more slowly, {lately:.1f} s after {before:.1f} s: reward every one again.",
                lately=run.figures["lately"],
                before=run.figures["before"],
            )
        case Change.EASIER:
            return sentence("Practice was back at an easier step: reward every one again.")
    return sentence("Reward every one, until it is sure at its goal on {days} days.", days=LEAST_DAYS)


def share_in_words(ratio: float) -> tuple[int, int]:
    """Return a ratio as (paid, of) in small whole numbers: 1.5 is 2 in 3."""
    return (1, round(ratio)) if ratio == round(ratio) else (2, round(2.0 * ratio))
