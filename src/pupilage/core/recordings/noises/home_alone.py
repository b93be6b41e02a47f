"""What a recording of a dog by itself says: bouts, first sound after the door, longest quiet, what is unreadable."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.events import SURE_FROM, Event, EventKind, EventState
from pupilage.core.recordings.noises.speech_runs import MOST_SPEECH, Run, closed_up
from pupilage.core.words import Sentence, sentence

VOICED = (EventKind.BARK, EventKind.WHINE)
SIGNS = {EventKind.BARK: "barking", EventKind.WHINE: "whining"}
MOST_SPEECH_ALONE = 0.15
"""Nobody talks to a dog that is alone: with this share of speech, a television or radio is on (own choice)."""
UNREADABLE_FLOOR_DBFS = -42.0
"""A minute whose floor is as loud as this hides the fainter barks (measured on made dogs)."""
MOST_UNREADABLE = 0.25


@dataclass(frozen=True)
class HomeRules:
    """Adjustable rules. pause_s: longest pause within a bout; least_n: vocalisations that make a bout.

    at_least: confidence from which a suggestion counts (a confirmed event always does, a rejected one never).
    """

    pause_s: float = 5.0
    least_n: int = 2
    at_least: float = SURE_FROM


@dataclass(frozen=True)
class Bout:
    """Vocalisations with short pauses. Times in seconds of the recording's clock."""

    start_s: float
    end_s: float
    n_barks: int
    n_whines: int

    @property
    def kind(self) -> EventKind:
        """What it mostly is; a bark where both are as many."""
        return EventKind.BARK if self.n_barks >= self.n_whines else EventKind.WHINE


@dataclass(frozen=True)
class HomeAlone:
    """The result for one time alone. All times in seconds of the recording's clock; None where there is none.

    first_s: first vocalisation after the door; first_after_s: counted from the door. share: of the time alone that
    lies in bouts. quiet: the longest stretch without a vocalisation. doubt: why it cannot be told, or None.
    """

    door_s: float
    end_s: float
    bouts: tuple[Bout, ...]
    n_barks: int
    n_whines: int
    first_s: float | None
    quiet: Run
    n_unreadable_min: int
    n_unchecked: int
    doubt: Sentence | None

    @property
    def can_tell(self) -> bool:
        """Whether the figures may go into the record without a person's word for each."""
        return self.doubt is None

    @property
    def alone_s(self) -> float:
        """The time alone that was recorded."""
        return self.end_s - self.door_s

    @property
    def first_after_s(self) -> float | None:
        """Seconds from the door to the first vocalisation."""
        return None if self.first_s is None else self.first_s - self.door_s

    @property
    def voiced_s(self) -> float:
        """Seconds that lie in bouts."""
        return sum(bout.end_s - bout.start_s for bout in self.bouts)

    @property
    def share(self) -> float:
        """Share of the time alone that lies in bouts, 0 to 1."""
        return self.voiced_s / self.alone_s if self.alone_s > 0 else 0.0

    def for_the_log(self) -> tuple[tuple[str, float, float], ...]:
        """Return the bouts as (sign, start_s, end_s), counted from the door, for the log of times alone.

        The signs are that log's words: barking or whining.
        """
        return tuple((SIGNS[bout.kind], bout.start_s - self.door_s, bout.end_s - self.door_s) for bout in self.bouts)


def read_home_alone(
    events: Iterable[Event],
    *,
    door_s: float,
    end_s: float,
    background: "HomeBackground | None" = None,
    rules: HomeRules | None = None,
) -> HomeAlone:
    """Return bouts and figures of a dog by itself between the door and the end.

    events: of any kinds and states; barks and whines that start in that time count. door_s: when the person left, by
    their own word. background: what `HomeBackground` found; without it nothing is said of noise.
    Raises: InvalidInput when the end does not lie after the door, or the rules make no sense.
    """
    rules = rules or HomeRules()
    _require_sense(door_s, end_s, rules)
    heard = sorted(
        (
            event
            for event in events
            if event.kind in VOICED and door_s <= event.start_s < end_s and _counts(event, rules)
        ),
        key=lambda event: event.start_s,
    )
    bouts = tuple(bout for bout in _bouts(heard, rules, end_s))
    return HomeAlone(
        door_s,
        end_s,
        bouts,
        n_barks=sum(event.kind is EventKind.BARK for event in heard),
        n_whines=sum(event.kind is EventKind.WHINE for event in heard),
        first_s=heard[0].start_s if heard else None,
        quiet=_longest_quiet(heard, door_s, end_s),
        n_unreadable_min=background.n_unreadable_min(door_s, end_s) if background else 0,
        n_unchecked=sum(event.is_unchecked for event in heard),
        doubt=background.doubt(door_s, end_s) if background else None,
    )


def _require_sense(door_s: float, end_s: float, rules: HomeRules) -> None:
    if not (math.isfinite(door_s) and door_s >= 0):
        raise InvalidInput.of("door_s", "The door cannot have closed at {given} s; give 0 or more.", given=door_s)
    if not (math.isfinite(end_s) and end_s > door_s):
        raise InvalidInput.of(
            "end_s", "The end ({given} s) must lie after the door closed; give a later one.", given=end_s
        )
    if not (rules.pause_s > 0 and rules.least_n >= 1 and 0 <= rules.at_least <= 1):
        raise InvalidInput.of(
            "rules", "A bout needs a pause above 0 s, 1 vocalisation or more and a confidence of 0 to 1."
        )


def _counts(event: Event, rules: HomeRules) -> bool:
    if event.state is EventState.SUGGESTED:
        return event.confidence is None or event.confidence >= rules.at_least
    return event.state is EventState.CONFIRMED


def _bouts(heard: Sequence[Event], rules: HomeRules, end_s: float) -> Iterable[Bout]:
    for start_s, stop_s in closed_up([(event.start_s, min(event.end_s, end_s)) for event in heard], rules.pause_s):
        inside = [event for event in heard if start_s <= event.start_s <= stop_s]
        if len(inside) >= rules.least_n:
            n_barks = sum(event.kind is EventKind.BARK for event in inside)
            yield Bout(start_s, stop_s, n_barks, len(inside) - n_barks)


def _longest_quiet(heard: Sequence[Event], door_s: float, end_s: float) -> Run:
    edges = closed_up(
        [(door_s, door_s), *((event.start_s, min(event.end_s, end_s)) for event in heard), (end_s, end_s)], 0.0
    )
    gaps = [(before[1], after[0]) for before, after in pairwise(edges)]
    return max(gaps, key=lambda gap: gap[1] - gap[0], default=(end_s, end_s))


@dataclass(frozen=True)
class HomeBackground:
    """What sounds in the home besides the dog: the floor of each minute, and the runs of speech without the dog."""

    floor_dbfs: tuple[float, ...]
    speech: tuple[Run, ...]
    listened: tuple[Run, ...] | None = None
    """Where speech was looked for; None means everywhere."""

    def n_unreadable_min(self, door_s: float, end_s: float) -> int:
        """Return how many whole or begun minutes from the door to the end cannot be read: a loud floor, or talk."""
        minutes = range(int(door_s // 60), min(math.ceil(end_s / 60), len(self.floor_dbfs)))
        return sum(self._is_unreadable(minute) for minute in minutes)

    def _is_unreadable(self, minute: int) -> bool:
        if self.floor_dbfs[minute] >= UNREADABLE_FLOOR_DBFS:
            return True
        return self.speech_share(60.0 * minute, 60.0 * (minute + 1)) >= MOST_SPEECH

    def speech_share(self, from_s: float, to_s: float) -> float:
        """Return the share of speech, 0 to 1, of the time that was listened to; 0 where none was."""
        listened_s = to_s - from_s if self.listened is None else _within(self.listened, from_s, to_s)
        return min(_within(self.speech, from_s, to_s) / listened_s, 1.0) if listened_s > 0 else 0.0

    def doubt(self, door_s: float, end_s: float) -> Sentence | None:
        """Return why the recording cannot tell, or None: somebody talks, or too many minutes are unreadable."""
        share = self.speech_share(door_s, end_s)
        if share >= MOST_SPEECH_ALONE:
            return sentence(
                "Speech in {share:.0%} of the time: a television, a radio or people. This recording cannot tell when "
                "the dog barked or whined. Switch them off next time, or go through the suggestions one by one.",
                share=share,
            )
        n, n_all = self.n_unreadable_min(door_s, end_s), max(math.ceil((end_s - door_s) / 60), 1)
        if n > MOST_UNREADABLE * n_all:
            return sentence(
                "{n} of {n_all} minutes are too noisy to read. This recording cannot tell when the dog barked or "
                "whined. Put the phone nearer to the dog next time, or go through the suggestions one by one.",
                n=n,
                n_all=n_all,
            )
        return None


def home_background(
    level_db: NDArray[np.floating[Any]],
    speech: Sequence[Run],
    dog: Iterable[Event],
    *,
    step_s: float,
    listened: Sequence[Run] | None = None,
) -> HomeBackground:
    """Return the background of a home from its levels (one a frame), the runs of speech, and what the dog said.

    **Model** a minute's floor is the level that a fifth of its frames stay under. A speech model takes barks for
    speech too, so each run of speech that a bark or whine overlaps loses the dog's part and 0.3 s on either side.
    """
    per_minute = max(round(60 / step_s), 1)
    minutes = [np.sort(level_db[at : at + per_minute]) for at in range(0, len(level_db), per_minute)]
    floor = tuple(float(minute[len(minute) // 5]) for minute in minutes)
    away = [(event.start_s - 0.3, event.end_s + 0.3) for event in dog if event.kind in VOICED]
    left = tuple(_without(speech, closed_up(away, 0.0)))
    return HomeBackground(floor, left, None if listened is None else tuple(listened))


def _without(runs: Sequence[Run], away: Sequence[Run]) -> list[Run]:
    """Return the runs less what lies in `away` (both in time order, `away` without overlaps)."""
    left = []
    for start_s, end_s in runs:
        for from_s, to_s in away:
            if to_s <= start_s or from_s >= end_s:
                continue
            if from_s > start_s:
                left.append((start_s, from_s))
            start_s = max(start_s, to_s)
        if end_s > start_s:
            left.append((start_s, end_s))
    return left


def _within(runs: Sequence[Run], from_s: float, to_s: float) -> float:
    return sum(max(0.0, min(end_s, to_s) - max(start_s, from_s)) for start_s, end_s in runs)
