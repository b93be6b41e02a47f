"""When events make a trial: every number that can be set, in one place."""

import math
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput, Problem


@dataclass(frozen=True)
class TrialRules:
    """The rules by which events are folded into trials; all in seconds. Common practice, no source.

    repeat_within_s: the same cue again within this, with no marker between, is a repeat of the same trial.
    marker_within_s: a marker later than this after the last cue belongs to no trial.
    same_marker_within_s: a click and a marker word closer than this are one marker (a box clicker clicks twice).
    pause_s: a pause longer than this between cues and markers does not count as time of work.
    hold_cues: behaviours (or labels of cues) that are held until a release; hold_within_s: the longest hold.
    reward_within_s: a reward later than this after the marker is not for it; late_reward_s: from here on it is late.
    count_from: an unchecked event counts for now from this confidence on; without a confidence it counts.
    """

    repeat_within_s: float = 4.0
    marker_within_s: float = 10.0
    same_marker_within_s: float = 0.3
    pause_s: float = 60.0
    hold_cues: frozenset[str] = frozenset()
    hold_within_s: float = 600.0
    reward_within_s: float = 10.0
    late_reward_s: float = 3.0
    count_from: float = 0.5

    def __post_init__(self) -> None:
        problems = [
            Problem(name, "{given} s cannot be; give more than 0.", given=value)
            for name, value in vars(self).items()
            if name.endswith("_s") and not (math.isfinite(value) and value > 0.0)
        ]
        if not 0.0 <= self.count_from <= 1.0:
            problems.append(Problem("count_from", "{given} is no confidence; give 0 to 1.", given=self.count_from))
        if problems:
            raise InvalidInput(problems)
