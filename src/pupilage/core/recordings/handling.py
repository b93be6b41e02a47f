"""What the words of a recording say about the trainer: for the trainer alone, counted, without blame."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from pupilage.core.errors import InvalidInput
from pupilage.core.garwood import rate_limits
from pupilage.core.recordings.events import Band, Event, EventKind
from pupilage.core.recordings.trial_rules import TrialRules
from pupilage.core.recordings.trials import (
    MARKER_KINDS,
    HeardTrial,
    counting,
    fold_counted,
    without_double_markers,
)
from pupilage.core.training.posterior.intervals import clopper_pearson
from pupilage.core.words import Sentence, sentence

LEAST_FOR_LIMITS = 6
"""Under six values the middle one has no 95 % limits among them: 1 − 2 · 0.5⁵ = 94 %."""


@dataclass(frozen=True)
class Share:
    """n of so many, and the exact 95 % limits of the rate behind it."""

    n: int
    of: int
    low: float
    high: float


@dataclass(frozen=True)
class Times:
    """The middle of n times in seconds; low_s and high_s its 95 % limits, None under six."""

    n: int
    median_s: float
    low_s: float | None
    high_s: float | None


@dataclass(frozen=True)
class Talk:
    """Runs of talk: seconds in each minute of the recording, and runs a minute with exact 95 % limits."""

    seconds_per_min: float
    n_runs: int
    runs_per_min: float
    low_per_min: float
    high_per_min: float


@dataclass(frozen=True)
class Handling:
    """Counts of one recording; None where it holds nothing to count from.

    repeated: trials in which the cue came more than once. late_rewards: of the markers with a reward.
    unrewarded: markers with no reward noted, None when no reward was noted at all, since food makes no sound.
    """

    repeated: Share | None
    repeated_by_cue: dict[str, Share]
    cue_to_marker: Times | None
    marker_to_reward: Times | None
    late_rewards: Share | None
    unrewarded: Share | None
    talk: Talk | None
    n_unchecked: int
    sentences: tuple[Sentence, ...]


def handling_of(events: Iterable[Event], *, duration_s: float, rules: TrialRules | None = None) -> Handling:
    """Return what the events say about cues, markers, rewards and talk, by the events that count for now.

    duration_s: length of the recording, above 0. Raises InvalidInput otherwise.
    Source: limits of a share as `clopper_pearson`, of a rate as `rate_limits`, of a median as `times_of`.
    """
    if not duration_s > 0.0:
        raise InvalidInput.of("duration_s", "A recording cannot last {given} s; give its length.", given=duration_s)
    rules, events = rules or TrialRules(), list(events)
    ordered = counting(events, rules)
    trials = fold_counted(ordered, rules)
    delays = [trial.reward_delay_s for trial in trials if trial.reward_delay_s is not None]
    labels = sorted({trial.label for trial in trials})
    counts = Handling(
        repeated=_repeated(trials),
        repeated_by_cue={at: share for at in labels if (share := _repeated([t for t in trials if t.label == at]))},
        cue_to_marker=times_of([t.first_latency_s for t in trials if t.first_latency_s is not None]),
        marker_to_reward=times_of(delays),
        late_rewards=_share(sum(delay >= rules.late_reward_s for delay in delays), len(delays)),
        unrewarded=_unrewarded(ordered, rules),
        talk=_talk([event for event in ordered if event.kind is EventKind.TALK], duration_s / 60.0),
        n_unchecked=sum(event.is_unchecked and event.band is not Band.HIDDEN for event in events),
        sentences=(),
    )
    has_markers = any(event.kind in MARKER_KINDS for event in ordered)
    return _with_sentences(counts, rules, has_markers=has_markers)


def times_of(times_s: Sequence[float]) -> Times | None:
    """Return the middle of the times and its limits, or None without any.

    Model: the k-th time from below and from above, k the most with P(Binomial(n, ½) < k) ≤ 0.025; no law of the times
    is assumed.
    Source: David & Nagaraja (2003), Order Statistics, 3rd ed., section 7.1 (from memory); tests/external/
    test_recording_limits.py.
    """
    if not times_s:
        return None
    ordered, n = sorted(times_s), len(times_s)
    if n < LEAST_FOR_LIMITS:
        return Times(n, median(ordered), None, None)
    k, below, term = 0, 0.0, 0.5**n
    while below + term <= 0.025:
        below += term
        term *= (n - k) / (k + 1)
        k += 1
    return Times(n, median(ordered), ordered[k - 1], ordered[n - k])


def _repeated(trials: Sequence[HeardTrial]) -> Share | None:
    return _share(sum(trial.n_repeats > 0 for trial in trials), len(trials))


def _share(n: int, of: int) -> Share | None:
    return Share(n, of, *clopper_pearson(n, of)) if of else None


def _unrewarded(ordered: Sequence[Event], rules: TrialRules) -> Share | None:
    """Count the markers that no reward follows in time, before the next marker; only where rewards were noted."""
    steps = [e for e in without_double_markers(ordered, rules) if e.kind in (*MARKER_KINDS, EventKind.REWARD)]
    if not any(event.kind is EventKind.REWARD for event in steps):
        return None
    paid = n = 0
    for event, following in zip(steps, [*steps[1:], None], strict=True):
        if event.kind in MARKER_KINDS:
            n += 1
            follows = following is not None and following.kind is EventKind.REWARD
            paid += follows and following is not None and following.start_s - event.start_s <= rules.reward_within_s
    return _share(n - paid, n)


def _talk(runs: Sequence[Event], minutes: float) -> Talk | None:
    if not runs:
        return None
    seconds = sum(run.end_s - run.start_s for run in runs)
    return Talk(seconds / minutes, len(runs), len(runs) / minutes, *rate_limits(len(runs), minutes))


def _with_sentences(counts: Handling, rules: TrialRules, *, has_markers: bool) -> Handling:
    said = [*_on_cues(counts), *_on_rewards(counts, rules, has_markers=has_markers), *_on_the_rest(counts)]
    return Handling(**{**vars(counts), "sentences": tuple(said)})


def _on_cues(counts: Handling) -> Iterable[Sentence]:
    if counts.repeated:
        yield sentence(
            "Trials in which the cue was said more than once: {n} of {of} (likely between {low:.0%} and {high:.0%}).",
            n=counts.repeated.n,
            of=counts.repeated.of,
            low=counts.repeated.low,
            high=counts.repeated.high,
        )
    times = counts.cue_to_marker
    if times and times.low_s is not None and times.high_s is not None:
        yield sentence(
            "From the first cue to the marker: {middle:.1f} s in the middle ({low:.1f} to {high:.1f} s), the time to "
            "see it and mark it included.",
            middle=times.median_s,
            low=times.low_s,
            high=times.high_s,
        )


def _on_rewards(counts: Handling, rules: TrialRules, *, has_markers: bool) -> Iterable[Sentence]:
    if counts.late_rewards:
        yield sentence(
            "Rewards that came {late:g} s or more after the marker: {n} of {of}.",
            late=rules.late_reward_s,
            n=counts.late_rewards.n,
            of=counts.late_rewards.of,
        )
    if counts.unrewarded:
        yield sentence(
            "Markers without a reward noted within {within:g} s: {n} of {of}.",
            within=rules.reward_within_s,
            n=counts.unrewarded.n,
            of=counts.unrewarded.of,
        )
    elif has_markers:
        yield sentence("No rewards were noted here, and food makes no sound: nothing can be said about rewards.")


def _on_the_rest(counts: Handling) -> Iterable[Sentence]:
    if counts.talk:
        yield sentence("Talk took {seconds:.0f} s of each minute.", seconds=counts.talk.seconds_per_min)
    if counts.n_unchecked:
        yield sentence("Suggestions not yet checked: {n}; these figures may change.", n=counts.n_unchecked)
