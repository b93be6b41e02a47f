"""One session written down twice, tapped while it ran and read from its recording: matched, merged, compared.

The two clocks differ by a constant that nobody wrote down. It is found from the trials themselves; where two constants
fit about as well, nothing is merged and the person is asked for a moment that both know.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import inf
from statistics import median

import numpy as np

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.agreement import CountAgreement, TrialAgreement, agree_on_counts, agree_on_trials
from pupilage.core.recordings.trials import HeardTrial
from pupilage.core.training.record.evidence import Outcome
from pupilage.core.words import Sentence, sentence

_NARROW_S = 1.0
_N_CANDIDATES = 12
_AS_MANY = 0.9
_AS_CLOSE = 2.0


@dataclass(frozen=True)
class MergeRules:
    """How trials are matched. tolerance_s: most seconds a tap may lie from its trial once the clocks agree.

    least_matches, least_share: fewer matches than this, or a smaller share of the shorter list, are no match at all.
    guess_within_s: how far a guessed offset is off as a rule; guess_at_most_s: how far it may be, as where a phone's
    clock was never set. minute_s: the interval in which counts are compared. Common practice, no source.
    """

    tolerance_s: float = 4.0
    least_matches: int = 3
    least_share: float = 0.5
    guess_within_s: float = 30.0
    guess_at_most_s: float = 120.0
    minute_s: float = 60.0


@dataclass(frozen=True)
class TappedTrial:
    """One trial as it was tapped: seconds on the tapping clock, counted from any start."""

    at_s: float
    behaviour: str
    outcome: Outcome
    id: str = ""
    latency_s: float | None = None


@dataclass(frozen=True)
class MergedTrial:
    """One trial, from one side or from both. at_s: on the recording's clock."""

    at_s: float
    tapped: TappedTrial | None
    heard: HeardTrial | None

    @property
    def outcome(self) -> str:
        """What the dog did: as tapped, else as a person added it to the recording, else empty."""
        return self.tapped.outcome.value if self.tapped else self.heard.outcome if self.heard else ""


@dataclass(frozen=True)
class Merge:
    """The trials of both, each once, in time order.

    offset_s: recording's clock minus tapping clock, None where it could not be found: then nothing was merged, and
    `trials` holds the heard ones only. spread_s: median distance of the matched taps from their trials.
    n_not_filmed: tapped before the recording began or after it ended; they tell nothing of how far the two agree.
    on_trials: whether both say that it was marked, trial by trial, over the matched ones; on_counts: trials a minute.
    """

    offset_s: float | None
    spread_s: float | None
    trials: tuple[MergedTrial, ...]
    n_both: int
    n_only_tapped: int
    n_only_heard: int
    on_trials: TrialAgreement | None
    on_counts: CountAgreement | None
    sentences: tuple[Sentence, ...] = ()
    n_not_filmed: int = 0


@dataclass(frozen=True)
class _Fit:
    offset_s: float
    pairs: tuple[tuple[int, int], ...]
    spread_s: float = field(default=float("inf"))


def merge_trials(
    tapped: Iterable[TappedTrial],
    heard: Iterable[HeardTrial],
    *,
    offset_s: float | None = None,
    guess_s: float | None = None,
    filmed_s: tuple[float, float] | None = None,
    rules: MergeRules | None = None,
) -> Merge:
    """Return the trials of a session that was tapped and read, each once, and how far the two agree.

    Model: a trial's moment in the recording is its marker, else its last cue. The offset is the constant under which
    most trials of the same behaviour match one to one, in order and within the tolerance; of equal ones, the closest;
    then the median of what is left. A second offset, further off than the tolerance, with nine tenths of the matches
    (or all but one) and less than twice the spread makes it ambiguous; one near the guess goes before those far off.
    Parameters: offset_s, when the person knows it (recording's clock minus tapping clock); guess_s, when the times of
    the file and of the session give it roughly; filmed_s, from when to when the recording goes, where the session may
    have gone on longer. Void trials are left out.
    Raises: InvalidInput when either list is empty.
    Source: agreement as `agree_on_trials`, `agree_on_counts`; matching checked in tests/unit/recordings/
    test_merging.py and, against SciPy's assignment, in tests/external/test_recording_limits.py.
    """
    rules = rules or MergeRules()
    taps = sorted((one for one in tapped if one.outcome is not Outcome.VOID), key=lambda one: one.at_s)
    trials = sorted(heard, key=_moment_s)
    if not taps or not trials:
        raise InvalidInput.of(
            "trials", "One of the two holds no trial (tapped {n}, heard {m}).", n=len(taps), m=len(trials)
        )
    fits = _fits(taps, trials, guess_s, rules) if offset_s is None else [_fit(taps, trials, offset_s, rules)]
    best = fits[0]
    enough = max(rules.least_matches, rules.least_share * min(len(taps), len(trials)))
    if offset_s is None and len(best.pairs) < enough:
        return _unmerged(taps, trials, _too_few(best))
    near = [] if guess_s is None else [fit for fit in fits if abs(fit.offset_s - guess_s) <= rules.guess_within_s]
    if near and (near[0] is best or _rivals(best, near[0], rules)):
        best, fits = near[0], near
    if any(_rivals(best, other, rules) for other in fits if other is not best):
        return _unmerged(taps, trials, _ambiguous())
    return _merged(taps, trials, best, filmed_s, rules)


def _moment_s(trial: HeardTrial) -> float:
    return trial.marker.start_s if trial.marker else trial.cues[-1].start_s


def _same_behaviour(tap: TappedTrial, trial: HeardTrial) -> bool:
    return tap.behaviour in (trial.behaviour, trial.label)


def _fits(
    taps: Sequence[TappedTrial], trials: Sequence[HeardTrial], guess_s: float | None, rules: MergeRules
) -> list[_Fit]:
    """Return the offsets that match most trials, the best first; each is refined once by the median of the rest."""
    differences = np.sort([_moment_s(b) - a.at_s for a in taps for b in trials if _same_behaviour(a, b)])
    if guess_s is not None:
        differences = differences[np.abs(differences - guess_s) <= rules.guess_at_most_s]
    fits: list[_Fit] = []
    for offset_s in _crowded(differences, rules):
        rough = _fit(taps, trials, offset_s, rules)
        if rough.pairs:
            centre_s = median(_moment_s(trials[j]) - taps[i].at_s for i, j in rough.pairs)
            fits.append(max(rough, _fit(taps, trials, centre_s, rules), key=_goodness))
    return sorted(fits, key=_goodness, reverse=True) or [_Fit(0.0, ())]


def _goodness(fit: _Fit) -> tuple[int, float]:
    return len(fit.pairs), -fit.spread_s


def _crowded(differences: np.ndarray, rules: MergeRules) -> Iterable[float]:
    """Return the middles of the most crowded narrow windows of differences, none within the tolerance of another."""
    if not len(differences):
        return
    ends = np.searchsorted(differences, differences + 2.0 * _NARROW_S, side="right")
    counts = ends - np.arange(len(differences))
    taken: list[float] = []
    for first in np.argsort(-counts, kind="stable"):
        middle_s = float(np.median(differences[first : ends[first]]))
        if all(abs(middle_s - other_s) > rules.tolerance_s / 2.0 for other_s in taken):
            taken.append(middle_s)
            yield middle_s
        if len(taken) == _N_CANDIDATES:
            return


def _fit(taps: Sequence[TappedTrial], trials: Sequence[HeardTrial], offset_s: float, rules: MergeRules) -> _Fit:
    """Match one to one and in order, most pairs first, then the least distance in all (dynamic programme)."""
    n, m = len(taps), len(trials)
    moments = [_moment_s(trial) for trial in trials]
    best = [[(0, 0.0)] * (m + 1) for _ in range(n + 1)]
    for i in range(n - 1, -1, -1):
        for j in range(m - 1, -1, -1):
            skip = max(best[i + 1][j], best[i][j + 1])
            away_s = abs(moments[j] - taps[i].at_s - offset_s)
            if away_s <= rules.tolerance_s and _same_behaviour(taps[i], trials[j]):
                pairs, cost = best[i + 1][j + 1]
                skip = max(skip, (pairs + 1, cost - away_s))
            best[i][j] = skip
    pairs_found: list[tuple[int, int]] = []
    i = j = 0
    while i < n and j < m:
        if best[i][j] == best[i + 1][j]:
            i += 1
        elif best[i][j] == best[i][j + 1]:
            j += 1
        else:
            pairs_found.append((i, j))
            i, j = i + 1, j + 1
    away = [abs(moments[b] - taps[a].at_s - offset_s) for a, b in pairs_found]
    return _Fit(offset_s, tuple(pairs_found), median(away) if away else float("inf"))


def _rivals(best: _Fit, other: _Fit, rules: MergeRules) -> bool:
    apart = abs(best.offset_s - other.offset_s) > rules.tolerance_s
    as_many = len(other.pairs) >= min(_AS_MANY * len(best.pairs), len(best.pairs) - 1)
    return apart and as_many and other.spread_s <= _AS_CLOSE * max(best.spread_s, 0.1)


def _merged(
    taps: Sequence[TappedTrial],
    trials: Sequence[HeardTrial],
    fit: _Fit,
    filmed_s: tuple[float, float] | None,
    rules: MergeRules,
) -> Merge:
    of_tap, heard_too = dict(fit.pairs), {j for _, j in fit.pairs}
    merged = [MergedTrial(tap.at_s + fit.offset_s, tap, None) for i, tap in enumerate(taps) if i not in of_tap]
    merged += [MergedTrial(_moment_s(trials[j]), taps[i], trials[j]) for i, j in fit.pairs]
    merged += [MergedTrial(_moment_s(trial), None, trial) for j, trial in enumerate(trials) if j not in heard_too]
    pairs = [(taps[i], trials[j]) for i, j in fit.pairs]
    first_s, last_s = filmed_s or (-inf, inf)
    filmed = [
        tap for i, tap in enumerate(taps)
        if i in of_tap or first_s <= tap.at_s + fit.offset_s <= last_s + rules.tolerance_s
    ]  # fmt: skip
    return Merge(
        offset_s=fit.offset_s,
        spread_s=fit.spread_s if pairs else None,
        trials=tuple(sorted(merged, key=lambda one: one.at_s)),
        n_both=len(pairs),
        n_only_tapped=len(filmed) - len(pairs),
        n_only_heard=len(trials) - len(pairs),
        on_trials=agree_on_trials([_tapped_mark(a) for a, _ in pairs], [_heard_mark(b) for _, b in pairs])
        if pairs
        else None,
        on_counts=_on_counts([tap.at_s + fit.offset_s for tap in filmed], [_moment_s(t) for t in trials], rules)
        if filmed
        else None,
        n_not_filmed=len(taps) - len(filmed),
    )


def _tapped_mark(tap: TappedTrial) -> str:
    return "marked" if tap.outcome in (Outcome.MET, Outcome.HELPED) else "not marked"


def _heard_mark(trial: HeardTrial) -> str:
    met = trial.outcome in (Outcome.MET, Outcome.HELPED) if trial.outcome else trial.marker is not None
    return "marked" if met else "not marked"


def _on_counts(one: Sequence[float], other: Sequence[float], rules: MergeRules) -> CountAgreement:
    first_s = min(*one, *other)
    n = int((max(*one, *other) - first_s) // rules.minute_s) + 1
    counts = [[0] * n, [0] * n]
    for side, times in enumerate((one, other)):
        for at_s in times:
            counts[side][min(n - 1, int((at_s - first_s) // rules.minute_s))] += 1
    return agree_on_counts(counts[0], counts[1])


def _unmerged(taps: Sequence[TappedTrial], trials: Sequence[HeardTrial], why: Sentence) -> Merge:
    alone = tuple(MergedTrial(_moment_s(trial), None, trial) for trial in trials)
    return Merge(None, None, alone, 0, len(taps), len(trials), None, None, (why,))


def _too_few(best: _Fit) -> Sentence:
    return sentence(
        "The tapped and the heard trials do not fit together: at best {n} match. Nothing was merged; say how far the "
        "two clocks are apart, or check that both are of the same session.",
        n=len(best.pairs),
    )


def _ambiguous() -> Sentence:
    return sentence(
        "The tapped and the heard trials fit together in more than one way, since they are evenly spaced. Nothing was "
        "merged; name one moment that both know."
    )
