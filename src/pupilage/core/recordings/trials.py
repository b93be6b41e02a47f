"""From events to trials: a cue, its repeats, the marker that ends it or none heard, and holds until the release.

What the sound does not hold is not made up: no marker heard means just that, and a latency runs from cue to marker,
so it holds the trainer's own reaction as well.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from pupilage.core.recordings.events import Event, EventKind, EventState, in_time_order
from pupilage.core.recordings.trial_rules import TrialRules

MARKER_KINDS = (EventKind.MARKER, EventKind.CLICK)


@dataclass(frozen=True)
class HeardHold:
    """Seconds from the first cue to the release, or to the break that a person tapped (broke).

    exact: both ends are known well enough for a figure of tenths.
    """

    held_s: float
    broke: bool
    exact: bool


@dataclass(frozen=True)
class HeardTrial:
    """One try: its cues in order, and what followed.

    end: the release or the break, for a cue that is held. outcome_event: what a person said the dog did.
    """

    cues: tuple[Event, ...]
    marker: Event | None = None
    reward: Event | None = None
    end: Event | None = None
    outcome_event: Event | None = None

    @property
    def label(self) -> str:
        return self.cues[0].label

    @property
    def behaviour(self) -> str:
        return self.cues[0].behaviour

    @property
    def start_s(self) -> float:
        return self.cues[0].start_s

    @property
    def outcome(self) -> str:
        """Met, missed, helped or void, as a person added it; empty where nobody did: the sound does not hold it."""
        return self.outcome_event.label if self.outcome_event else ""

    @property
    def n_unchecked(self) -> int:
        """How many of its events nobody has looked at."""
        others = (self.marker, self.reward, self.end, self.outcome_event)
        return sum(event.is_unchecked for event in (*self.cues, *others) if event is not None)

    @property
    def hold(self) -> HeardHold | None:
        if self.end is None:
            return None
        exact = self.cues[0].exact and self.end.exact
        return HeardHold(self.end.start_s - self.start_s, self.end.kind is EventKind.BREAK, exact)

    @property
    def n_repeats(self) -> int:
        return len(self.cues) - 1

    @property
    def first_latency_s(self) -> float | None:
        """Seconds from the first cue to the marker; None without a marker or where a start is not exact."""
        return _latency_s(self.cues[0], self.marker)

    @property
    def last_latency_s(self) -> float | None:
        """Seconds from the last cue to the marker; None without a marker or where a start is not exact."""
        return _latency_s(self.cues[-1], self.marker)

    @property
    def reward_delay_s(self) -> float | None:
        """Seconds from the marker to the reward, where both are known."""
        return _latency_s(self.marker, self.reward)


def counting(events: Iterable[Event], rules: TrialRules) -> list[Event]:
    """Return the events that count for now, in time order: the confirmed ones and the likely of the unchecked.

    An unchecked one counts outside running talk, from `count_from` on or without a confidence; a rejected one never.
    """
    return in_time_order(event for event in events if _counts(event, rules))


def fold_trials(events: Iterable[Event], rules: TrialRules | None = None) -> tuple[HeardTrial, ...]:
    """Return the trials of a recording, by the events that count for now.

    Model: a cue opens a trial; the same cue within 4 s of the last, with no marker between, repeats it; the first
    marker within 10 s of the last cue closes it; another cue closes it without a marker. A cue that is held stays
    open until the release, a break or another cue, and the same cue meanwhile repeats it. (See `TrialRules`.)
    Idempotent and the same for every order of `events`. Checked in tests/unit/recordings/test_trials.py.
    """
    rules = rules or TrialRules()
    return fold_counted(counting(events, rules), rules)


def fold_counted(ordered: Sequence[Event], rules: TrialRules) -> tuple[HeardTrial, ...]:
    """Return the trials of events that all count and are in time order."""
    fold = _Fold(rules)
    for event in without_double_markers(ordered, rules):
        fold.take(event)
    return fold.finished()


def without_double_markers(ordered: Iterable[Event], rules: TrialRules) -> list[Event]:
    """Return the events with markers closer than 0.3 s to the marker before them left out: they are one."""
    kept: list[Event] = []
    last_s: float | None = None
    for event in ordered:
        if event.kind in MARKER_KINDS:
            if last_s is not None and event.start_s - last_s <= rules.same_marker_within_s:
                continue
            last_s = event.start_s
        kept.append(event)
    return kept


def work_s(ordered: Sequence[Event], rules: TrialRules) -> float | None:
    """Return the seconds from the first cue to the last marker, without pauses over 60 s; None where there are none."""
    times = [event.start_s for event in ordered if event.kind is EventKind.CUE or event.kind in MARKER_KINDS]
    first = next((event.start_s for event in ordered if event.kind is EventKind.CUE), None)
    last = next((event.start_s for event in reversed(ordered) if event.kind in MARKER_KINDS), None)
    if first is None or last is None or last <= first:
        return None
    within = [at for at in times if first <= at <= last]
    gaps = [after - before for before, after in pairwise(within)]
    return sum(gap for gap in gaps if gap <= rules.pause_s) or None


def _counts(event: Event, rules: TrialRules) -> bool:
    if event.state is not EventState.SUGGESTED:
        return event.state is EventState.CONFIRMED
    likely = event.confidence is None or event.confidence >= rules.count_from
    return likely and not event.in_talk


def _latency_s(start: Event | None, end: Event | None) -> float | None:
    if start is None or end is None or not (start.exact and end.exact):
        return None
    return end.start_s - start.start_s


@dataclass
class _Fold:
    """The trial that is open, and those that are over; the last one over still takes a reward and an outcome."""

    rules: TrialRules
    done: list[HeardTrial] = field(default_factory=list)
    open: HeardTrial | None = None

    def take(self, event: Event) -> None:
        match event.kind:
            case EventKind.CUE:
                self._take_cue(event)
            case EventKind.MARKER | EventKind.CLICK:
                self._take_marker(event)
            case EventKind.RELEASE | EventKind.BREAK:
                self._take_end(event)
            case EventKind.REWARD:
                self._take_reward(event)
            case EventKind.OUTCOME:
                self._take_outcome(event)

    def finished(self) -> tuple[HeardTrial, ...]:
        self._close()
        return tuple(self.done)

    def _take_cue(self, cue: Event) -> None:
        if self.open is not None and self._repeats(self.open, cue):
            self.open = replace(self.open, cues=(*self.open.cues, cue))
            return
        self._close()
        self.open = HeardTrial((cue,))

    def _repeats(self, trial: HeardTrial, cue: Event) -> bool:
        if (cue.label, cue.behaviour) != (trial.label, trial.behaviour):
            return False
        if self._is_held(trial):
            return cue.start_s - trial.start_s <= self.rules.hold_within_s
        return cue.start_s - trial.cues[-1].start_s <= self.rules.repeat_within_s

    def _take_marker(self, marker: Event) -> None:
        trial = self.open
        if trial is None or trial.marker is not None:
            return
        if self._is_held(trial):
            self.open = replace(trial, marker=marker)
            return
        if marker.start_s - trial.cues[-1].start_s <= self.rules.marker_within_s:
            self.open = replace(trial, marker=marker)
        self._close()

    def _take_end(self, end: Event) -> None:
        if self.open is None or not self._is_held(self.open):
            return
        if end.start_s - self.open.start_s <= self.rules.hold_within_s:
            self.open = replace(self.open, end=end)
        self._close()

    def _take_reward(self, reward: Event) -> None:
        trial = self._last()
        if trial is None or trial.marker is None or trial.reward is not None:
            return
        if reward.start_s - trial.marker.start_s <= self.rules.reward_within_s:
            self._put_last(replace(trial, reward=reward))

    def _take_outcome(self, outcome: Event) -> None:
        trial = self._last()
        if trial is not None:
            self._put_last(replace(trial, outcome_event=outcome))

    def _last(self) -> HeardTrial | None:
        return self.open or (self.done[-1] if self.done else None)

    def _put_last(self, trial: HeardTrial) -> None:
        if self.open is not None:
            self.open = trial
        else:
            self.done[-1] = trial

    def _close(self) -> None:
        if self.open is not None:
            self.done.append(self.open)
            self.open = None

    def _is_held(self, trial: HeardTrial) -> bool:
        return bool(self.rules.hold_cues & {trial.label, trial.behaviour} - {""})
