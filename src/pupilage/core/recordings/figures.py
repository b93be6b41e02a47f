"""What the trials of a recording amount to: each figure with its range while events are unchecked."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from statistics import median

from pupilage.core.recordings.events import Band, Event, EventKind, EventState, in_time_order
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.core.recordings.trials import (
    MARKER_KINDS,
    HeardTrial,
    counting,
    fold_counted,
    without_double_markers,
    work_s,
)


@dataclass(frozen=True)
class Range:
    """A figure as it stands, and the lowest and highest it could become; all None where nothing carries it.

    Without unchecked events the three are the same.
    """

    value: float | None
    low: float | None
    high: float | None


@dataclass(frozen=True)
class TrialFigures:
    """The figures of one recording.

    rate_per_min: markers a minute of work, "rate of reinforcement" where each marker is followed by a reinforcer.
    repeats_per_trial: repeated cues ÷ trials. latencies: median seconds from cue to marker, where both are exact.
    n_unchecked: suggestions that could still change something; those in the hidden band are not among them.
    """

    n_trials: Range
    n_marked: Range
    n_repeats: Range
    repeats_per_trial: Range
    n_markers: Range
    rate_per_min: Range
    first_latency_s: Range
    last_latency_s: Range
    n_unchecked: int


def figures_of(events: Iterable[Event], rules: TrialRules | None = None) -> TrialFigures:
    """Return the figures of a recording's events.

    Rule of the range: the events are folded again with all unchecked cues in or out, all unchecked markers in or out
    and all other unchecked events in or out (eight foldings); with each unchecked event turned the other way alone
    (n foldings); and, for each figure, with all those turned that lower it alone, and all that raise it alone. Low and
    high are the least and the most that came out. Subsets are not searched, which would take 2^n foldings:
    docs/science/recordings-trials.md says how often and how far the true limits lie outside.
    """
    rules = rules or TrialRules()
    known = [event for event in events if event.state is not EventState.REJECTED and event.kind in _MATTERS]
    unchecked = [event for event in known if event.is_unchecked and event.band is not Band.HIDDEN]
    confirmed = [event for event in known if not event.is_unchecked]
    standing = set(map(id, counting(known, rules)))
    taken = frozenset(i for i, event in enumerate(unchecked) if id(event) in standing)

    def fold(some: frozenset[int]) -> "_Folded":
        return _Folded.of(in_time_order([*confirmed, *(unchecked[i] for i in some)]), rules)

    as_it_stands = fold(taken)
    turned = [fold(taken ^ {i}) for i in range(len(unchecked))]
    tried = [*turned, *map(fold, _corners(unchecked))]

    def over(figure: "_Figure") -> Range:
        value = figure(as_it_stands)
        alone = [figure(folded) for folded in turned]
        together = [figure(fold(taken ^ some)) for some in _same_way(value, alone)]
        return _range(value, [*together, *(figure(folded) for folded in tried)])

    return TrialFigures(
        n_trials=over(lambda f: len(f.trials)),
        n_marked=over(lambda f: sum(trial.marker is not None for trial in f.trials)),
        n_repeats=over(lambda f: sum(trial.n_repeats for trial in f.trials)),
        repeats_per_trial=over(lambda f: f.repeats_per_trial),
        n_markers=over(lambda f: f.n_markers),
        rate_per_min=over(lambda f: f.rate_per_min),
        first_latency_s=over(lambda f: _median(trial.first_latency_s for trial in f.trials)),
        last_latency_s=over(lambda f: _median(trial.last_latency_s for trial in f.trials)),
        n_unchecked=len(unchecked),
    )


_MATTERS = (EventKind.CUE, *MARKER_KINDS, EventKind.RELEASE, EventKind.BREAK)


@dataclass(frozen=True)
class _Folded:
    """One reading of the events: its trials, its markers, its seconds of work."""

    trials: tuple[HeardTrial, ...]
    n_markers: int
    work_s: float | None

    @classmethod
    def of(cls, ordered: Sequence[Event], rules: TrialRules) -> "_Folded":
        trials = fold_counted(ordered, rules)
        first_s = trials[0].start_s if trials else float("inf")
        markers = [e for e in without_double_markers(ordered, rules) if e.kind in MARKER_KINDS]
        return cls(trials, sum(marker.start_s > first_s for marker in markers), work_s(ordered, rules))

    @property
    def rate_per_min(self) -> float | None:
        return None if self.work_s is None else 60.0 * self.n_markers / self.work_s

    @property
    def repeats_per_trial(self) -> float | None:
        return sum(trial.n_repeats for trial in self.trials) / len(self.trials) if self.trials else None


_Figure = Callable[[_Folded], float | None]


def _corners(unchecked: Sequence[Event]) -> set[frozenset[int]]:
    """Return the choices of unchecked events with all or none of the cues, of the markers and of the rest."""
    groups = [
        frozenset(i for i, event in enumerate(unchecked) if event.kind is EventKind.CUE),
        frozenset(i for i, event in enumerate(unchecked) if event.kind in MARKER_KINDS),
        frozenset(i for i, event in enumerate(unchecked) if event.kind is not EventKind.CUE)
        - frozenset(i for i, event in enumerate(unchecked) if event.kind in MARKER_KINDS),
    ]
    return {
        frozenset().union(*(group for group, with_it in zip(groups, chosen, strict=True) if with_it))
        for chosen in product((False, True), repeat=3)
    }


def _same_way(value: float | None, alone: Sequence[float | None]) -> Iterable[frozenset[int]]:
    """Return the events that lower the figure when turned alone, and those that raise it."""
    if value is None:
        return
    for sign in (-1.0, 1.0):
        some = frozenset(i for i, figure in enumerate(alone) if figure is not None and sign * (figure - value) > 0.0)
        if len(some) > 1:
            yield some


def _range(value: float | None, others: Iterable[float | None]) -> Range:
    figures = [figure for figure in (value, *others) if figure is not None]
    return Range(value, min(figures), max(figures)) if figures else Range(None, None, None)


def _median(figures: Iterable[float | None]) -> float | None:
    known = [figure for figure in figures if figure is not None]
    return median(known) if known else None
