"""One behaviour's record as rounds: what was asked and what came of it, before anybody says how hard it was.

The threshold map weighs the dimensions anew for this dog, so it needs the record with its criteria, where the engine
(`state.fold`) keeps blocks that already have a difficulty. Both read a trial alike.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, tzinfo

from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.training.posterior.difficulty import Ladder, ladder_of
from pupilage.core.training.posterior.grid import BREAK_BINS
from pupilage.core.training.posterior.learners import BLOCK_TRIALS, tiredness
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind, Trial

LETTERS = {Outcome.MET: "m", Outcome.MISSED: "x", Outcome.HELPED: "h"}


@dataclass(frozen=True)
class Round:
    """Up to five trials alike, in one session.

    step, level: places in the list, of the step and of the first step at least as hard as what was asked;
    duration_s: what was asked, or what an early release lasted; tired in logits, at most 0. taught, probed: one letter
    a trial, m met, x missed, h helped; the probed ones teach nothing. broke: between which two durations a hold broke;
    None for the first stands for its very beginning.
    """

    day: date
    step: int
    level: int
    duration_s: float
    tired: float = 0.0
    taught: str = ""
    probed: str = ""
    broke: tuple[float | None, float] | None = None

    @property
    def n(self) -> int:
        """Trials in the round."""
        return len(self.taught) + len(self.probed)


@dataclass
class _Sessions:
    """Today's sessions of all behaviours in their order, and the rounds begun in each."""

    day: date | None = None
    behaviours: dict[str, str] = field(default_factory=dict)
    rounds: dict[str, int] = field(default_factory=dict)

    def tired(self, trial: Trial) -> float:
        """Return how tired the dog comes to a new round of this trial's session."""
        self.behaviours.setdefault(trial.session_id, trial.behaviour)
        order = list(self.behaviours)
        earlier = order[: order.index(trial.session_id)]
        same = sum(self.behaviours[session] == trial.behaviour for session in earlier)
        begun = self.rounds.get(trial.session_id, 0)
        self.rounds[trial.session_id] = begun + 1
        return tiredness(begun, same, len(earlier))


def rounds_of(
    behaviours: Mapping[str, Behaviour], behaviour: str, trials: Iterable[Trial], zone: tzinfo
) -> list[Round]:
    """Return the rounds of one behaviour from all trials of its dog, in time order.

    Trials of steps that the catalogue no longer has, and void ones that are no holds, are passed over. The other
    behaviours' sessions count for how tired the dog was.
    """
    ladders = {key: ladder_of(known) for key, known in behaviours.items()}
    found: list[Round] = []
    today, open_key = _Sessions(), None
    for trial in trials:
        ladder = ladders.get(trial.behaviour)
        step = None if ladder is None else ladder.index(trial.step)
        if ladder is None or step is None:
            continue
        day = local_day(trial.at, zone)
        if day != today.day:
            today, open_key = _Sessions(day), None
        one = _read(ladder, step, day, trial)
        if one is None:
            continue
        key = (trial.session_id, trial.behaviour, one.step, trial.kind, one.level, one.duration_s, one.broke)
        if key == open_key and one.broke is None and trial.behaviour == behaviour and found[-1].n < BLOCK_TRIALS:
            found[-1] = replace(found[-1], taught=found[-1].taught + one.taught, probed=found[-1].probed + one.probed)
            continue
        open_key, tired = key, today.tired(trial)
        if trial.behaviour == behaviour:
            found.append(replace(one, tired=tired))
    return found


def _read(ladder: Ladder, step: int, day: date, trial: Trial) -> Round | None:
    """Return the trial as a round of its own, not yet tired; None where it says nothing."""
    if trial.hold is not None:
        return _read_hold(ladder, step, day, trial, trial.hold)
    if trial.outcome is Outcome.VOID:
        return None
    return _lesson(Round(day, step, step, float(ladder.durations_s[step])), trial)


def _read_hold(ladder: Ladder, step: int, day: date, trial: Trial, hold: Hold) -> Round:
    """Return a timed try: a break lies in a third of the way to its target, an early release counts as held so long."""
    if trial.outcome is Outcome.VOID:
        return Round(day, step, _level_at(ladder, step, hold.held_s), hold.held_s, probed="m")
    asked = Round(day, step, _level_at(ladder, step, hold.target_s), hold.target_s)
    if hold.broke and trial.outcome is Outcome.MISSED:
        asked = replace(asked, broke=_third(hold))
    return _lesson(asked, trial)


def _lesson(asked: Round, trial: Trial) -> Round:
    letter = LETTERS[trial.outcome]
    if trial.kind is SessionKind.PROBE:
        return replace(asked, probed="m" if letter == "m" else "x")
    return replace(asked, taught=letter)


def _third(hold: Hold) -> tuple[float | None, float]:
    """Return the durations between which the hold broke: thirds of the way to its target in log (1 + s)."""
    if hold.target_s <= 0.0:
        return None, hold.target_s
    ends_s = [(1.0 + hold.target_s) ** (i / BREAK_BINS) - 1.0 for i in range(BREAK_BINS + 1)]
    third = next((i for i in range(BREAK_BINS) if hold.held_s < ends_s[i + 1]), BREAK_BINS - 1)
    return (None if third == 0 else ends_s[third]), ends_s[third + 1]


def _level_at(ladder: Ladder, step: int, duration_s: float) -> int:
    delta = ladder.at_duration(step, duration_s)
    return next((i for i in range(step) if ladder.delta[i] >= delta - 1e-9), step)
