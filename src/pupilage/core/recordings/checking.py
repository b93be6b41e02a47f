"""What of a recording a person has to look at, and in which order: what could change its trials most comes first."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pupilage.core.recordings.events import Band, Event, EventKind, EventState, in_time_order
from pupilage.core.recordings.folding import folded
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.core.recordings.trials import MARKER_KINDS, fold_trials

_ENDS = (EventKind.RELEASE, EventKind.BREAK, EventKind.WHISTLE)
_ADDED = (EventKind.OUTCOME, EventKind.TALK, EventKind.IGNORE)
"""What nobody has to check: a person added it, or it never becomes part of a trial."""


@dataclass(frozen=True)
class Checking:
    """The work that a recording still asks for; ids of events.

    to_check: each to be looked at, the weightiest first. sure: the sure ones, to be confirmed with one key.
    without_outcome: the first cue of each trial of which nobody has said what the dog did; of those, marked: the ones
    with a marker.
    """

    to_check: tuple[str, ...]
    sure: tuple[str, ...]
    without_outcome: tuple[str, ...]
    marked: tuple[str, ...]


def checking_of(events: Iterable[Event], rules: TrialRules | None = None) -> Checking:
    """Return what is left to check.

    Rule: hollow markers and hollow repeats first (one of them changes a trial's latency and its count of cues), then
    the other hollow cues (each makes a trial, or unmakes it), then releases, then what no trial is made of; within
    each in time order. What is sure is not gone through one by one, what is hidden not at all.
    """
    rules = rules or TrialRules()
    ordered = in_time_order(events)
    open_ones = [e for e in ordered if e.is_unchecked and e.kind not in _ADDED]
    hollow = [e for e in open_ones if e.band is Band.CHECK]
    shown = [e for e in ordered if e.kind is EventKind.CUE and _is_shown(e)]
    hollow.sort(key=lambda event: _weight(event, shown, rules))
    unanswered = [trial for trial in fold_trials(ordered, rules) if not trial.outcome]
    return Checking(
        to_check=tuple(event.id for event in hollow),
        sure=tuple(event.id for event in open_ones if event.band is Band.SURE),
        without_outcome=tuple(trial.cues[0].id for trial in unanswered),
        marked=tuple(trial.cues[0].id for trial in unanswered if trial.marker is not None),
    )


def hidden_near(events: Iterable[Event], at_s: float, *, within_s: float = 2.0, most: int = 3) -> list[Event]:
    """Return the hidden suggestions nearest in confidence to being shown around a moment, the best first."""
    near = [e for e in events if e.is_unchecked and e.band is Band.HIDDEN and abs(e.start_s - at_s) <= within_s]
    return sorted(near, key=lambda event: (-(event.confidence or 0.0), event.start_s))[:most]


def _is_shown(event: Event) -> bool:
    if event.state is EventState.SUGGESTED:
        return event.band is not Band.HIDDEN
    return event.state is EventState.CONFIRMED


def _weight(event: Event, cues: Sequence[Event], rules: TrialRules) -> int:
    if event.kind in MARKER_KINDS:
        return 0
    if event.kind is EventKind.CUE:
        return 0 if _could_repeat(event, cues, rules) else 1
    return 2 if event.kind in _ENDS else 3


def _could_repeat(cue: Event, cues: Sequence[Event], rules: TrialRules) -> bool:
    """Tell whether the same cue stands so near that both may be one trial."""
    return any(
        other is not cue
        and abs(other.start_s - cue.start_s) <= rules.repeat_within_s
        and folded(other.behaviour or other.label) == folded(cue.behaviour or cue.label)
        for other in cues
    )
