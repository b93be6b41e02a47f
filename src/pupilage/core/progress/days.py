"""One behaviour day by day: what was tried, how soon, how long, how briskly."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from pupilage.core.clock import local_day
from pupilage.core.evaluation.celeration import DayRate
from pupilage.core.training.criterion.pace import MIN_SPAN_S, food_counted, median_latency_s, was_reinforced
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial, TrialSource


@dataclass(frozen=True)
class SessionSpan:
    """When a session began, who worked with the dog (empty: the trainer) and where (empty: not said)."""

    started_at: datetime
    handler: str = ""
    place: str = ""


@dataclass(frozen=True)
class DayLine:
    """A day of one behaviour; void tries are not counted.

    step: the key of the one tried last; n, n_met, n_helped: of all tries; latency_s: the median of those taken; held_s:
    the longest hold; minutes: watched in training, from each session's start to its last try, None where no session's
    times are its own; n_met_timed, n_missed_timed, n_paid: counted in those minutes.
    """

    day: date
    step: str
    n: int
    n_met: int
    n_helped: int
    latency_s: float | None
    held_s: float | None
    minutes: float | None = None
    n_met_timed: int = 0
    n_missed_timed: int = 0
    n_paid: int = 0

    @property
    def rewards_per_min(self) -> float | None:
        """Reinforcers a minute; None where nobody watched the clock."""
        return None if self.minutes is None else self.n_paid / self.minutes


def list_days(trials: Sequence[Trial], spans: Mapping[str, SessionSpan], zone: tzinfo) -> tuple[DayLine, ...]:
    """Return the days on which one behaviour was tried, the first one first.

    Parameters: trials, of the behaviour in time order; spans, of their sessions by id; zone, where days begin and end.
    A day of nothing but void tries is none.
    """
    own: dict[date, list[Trial]] = {}
    for trial in trials:
        if trial.outcome is not Outcome.VOID:
            own.setdefault(local_day(trial.at, zone), []).append(trial)
    return tuple(_line(day, some, spans) for day, some in own.items())


def _line(day: date, trials: Sequence[Trial], spans: Mapping[str, SessionSpan]) -> DayLine:
    timed = _timed(trials, spans)
    counted = [trial for some in timed.values() for trial in some]
    return DayLine(
        day=day,
        step=trials[-1].step,
        n=len(trials),
        n_met=_n(trials, Outcome.MET),
        n_helped=_n(trials, Outcome.HELPED),
        latency_s=median_latency_s(trials),
        held_s=max((trial.hold.held_s for trial in trials if trial.hold is not None), default=None),
        minutes=sum(_span_s(key, some, spans) for key, some in timed.items()) / 60.0 if timed else None,
        n_met_timed=_n(counted, Outcome.MET),
        n_missed_timed=_n(counted, Outcome.MISSED),
        n_paid=sum(was_reinforced(trial) for some in timed.values() for trial in food_counted(some)),
    )


def _n(trials: Iterable[Trial], outcome: Outcome) -> int:
    return sum(trial.outcome is outcome for trial in trials)


def _timed(trials: Sequence[Trial], spans: Mapping[str, SessionSpan]) -> dict[str, list[Trial]]:
    """Return the training of the day by session, where the times are the session's own and long enough for a rate.

    A sheet may come without times, and then its rows have made-up ones: imported sessions are not timed.
    """
    own: dict[str, list[Trial]] = {}
    for trial in trials:
        if trial.kind is SessionKind.TRAINING and trial.source is not TrialSource.IMPORTED:
            own.setdefault(trial.session_id, []).append(trial)
    return {key: some for key, some in own.items() if key in spans and _span_s(key, some, spans) >= MIN_SPAN_S}


def _span_s(key: str, trials: Sequence[Trial], spans: Mapping[str, SessionSpan]) -> float:
    return (trials[-1].at - spans[key].started_at).total_seconds()


def met_rates(days: Iterable[DayLine]) -> tuple[DayRate, ...]:
    """Return the met tries of every watched day, to be counted per minute."""
    return tuple(DayRate(line.day, line.n_met_timed, line.minutes) for line in days if line.minutes)


def missed_rates(days: Iterable[DayLine]) -> tuple[DayRate, ...]:
    """Return the missed tries of every watched day, to be counted per minute; helped ones are neither."""
    return tuple(DayRate(line.day, line.n_missed_timed, line.minutes) for line in days if line.minutes)
