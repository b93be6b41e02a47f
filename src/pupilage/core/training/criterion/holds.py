"""Timed tries: how long the dog can be expected to hold, and which duration to ask for next."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.training.record.evidence import Hold
from pupilage.core.words import Sentence, sentence

PRIOR_BREAKS = 1.0
PRIOR_EXPOSURE_SHARE = 0.15
"""Before the first hold: one break in 15 % of the step's duration, so the first ones asked for are tiny."""

RECENT_HOLDS = 20
MIDDLE = 0.7
LEAST = 0.6
"""The list's middle is held with chance 0.7, so that the whole of it, most of it short, is held in about 0.8; no
target goes below 0.6."""

BEYOND_CRITERION = 1.5
BEYOND_BEST = 2.0
"""No target beyond these multiples of the step's duration and of the best recent hold (common practice)."""

AFTER_BREAK = 0.5
MIN_TARGET_S = 0.1
"""Common practice, no source: a new position is first paid for holds as short as 0.1 s."""

SAYS = {
    "first": sentence("No holds yet: ask for {target:g} s, so that it is easily won."),
    "broke": sentence("The last one broke at {held:.1f} s: ask for {target:g} s now."),
    "next": sentence("Ask for {target:g} s: held about {p:.0%} of the time."),
}

LIST_TERMS = 8
LIST_ORDER = (3, 5, 1, 6, 2, 4, 0, 7)
"""Short and long by turns, the same every session; the longest stands at the end."""


@dataclass(frozen=True)
class HoldBelief:
    """A Gamma(shape, exposure_s) posterior for the hazard of breaking (per second), and the breaks seen."""

    shape: float
    exposure_s: float
    n_broke: int

    def chance_to_hold(self, duration_s: float) -> float:
        """Return the predictive chance that the next hold lasts `duration_s` seconds (0 or more).

        Model: Lomax survival, (exposure / (exposure + duration)) ** shape.
        """
        survives: float = (self.exposure_s / (self.exposure_s + duration_s)) ** self.shape
        return survives

    def duration_held_with(self, p: float) -> float:
        """Return the duration in seconds that the next hold lasts with chance `p` (above 0, up to 1)."""
        stretch: float = p ** (-1.0 / self.shape)
        return self.exposure_s * (stretch - 1.0)

    @property
    def median_s(self) -> float:
        """The duration that the next hold lasts with even chance."""
        return self.duration_held_with(0.5)


@dataclass(frozen=True)
class HoldTarget:
    """The duration to ask for next, the chance that it is held, and why."""

    target_s: float
    p_hold: float
    reason: Sentence


def believe_holds(criterion_duration_s: float, holds: Sequence[Hold]) -> HoldBelief:
    """Return the belief that the last 20 holds carry.

    Model: constant hazard, Gamma prior; shape = 1 + breaks, exposure = 15 % of the criterion + all seconds held.
    A break is an exact time, a release a censored one (the dog would have held on).
    Parameters: criterion_duration_s 0 or more (under 0.1 it counts as 0.1); holds in time order.
    Raises: InvalidInput for times that are no times.
    Assumes: breaking is as likely late in a hold as early; no learning within the holds counted.
    Source: Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, section 2.6 (exponential model; from memory);
    checked by quadrature in tests/external/test_holds.py.
    """
    _require_times(criterion_duration_s, holds)
    criterion_duration_s = max(MIN_TARGET_S, criterion_duration_s)
    recent = holds[-RECENT_HOLDS:]
    n_broke = sum(hold.broke for hold in recent)
    exposure_s = math.fsum(hold.held_s for hold in recent)
    return HoldBelief(PRIOR_BREAKS + n_broke, PRIOR_EXPOSURE_SHARE * criterion_duration_s + exposure_s, n_broke)


def next_target(
    criterion_duration_s: float, holds: Sequence[Hold], *, n_in_session: int, expected_s: float | None = None
) -> HoldTarget:
    """Return the duration to ask for next: a variable list around what the dog can bear.

    The list's middle is the duration held with chance 0.7, but not more than the criterion. No target goes beyond
    the duration held with chance 0.6, 1.5 times the criterion, or twice the best recent hold; after a break the
    next one is short. Deterministic. The smallest target is 0.1 s, even where that is held with less than 0.6.
    Parameters: criterion_duration_s 0 or more (under 0.1 it counts as 0.1); holds at this step in time order;
    n_in_session, the holds already asked for in this session, 0 or more; expected_s, the duration that the grid
    expects to be held with chance 0.7 here, asked for before the first hold at this step only (afterwards the holds
    themselves say more).
    Raises: InvalidInput for times that are no times or a count below 0.
    """
    belief = believe_holds(criterion_duration_s, holds)
    if not n_in_session >= 0:
        raise InvalidInput.of("n_in_session", "{given} holds cannot be; give 0 or more.", given=n_in_session)
    if not holds and expected_s is not None:
        belief = _expect(belief, expected_s)
    criterion_duration_s = max(MIN_TARGET_S, criterion_duration_s)
    middle_s = min(belief.duration_held_with(MIDDLE), criterion_duration_s)
    wanted_s = middle_s * multiple(n_in_session)
    if holds and holds[-1].broke:
        wanted_s = min(wanted_s, AFTER_BREAK * middle_s)
    limits = [belief.duration_held_with(LEAST), BEYOND_CRITERION * criterion_duration_s]
    if holds:
        limits.append(BEYOND_BEST * max(MIN_TARGET_S, *(hold.held_s for hold in holds[-RECENT_HOLDS:])))
    target_s = _round_down(min(wanted_s, *limits))
    p_hold = belief.chance_to_hold(target_s)
    return HoldTarget(target_s, p_hold, _reason(target_s, p_hold, holds))


def _expect(belief: HoldBelief, expected_s: float) -> HoldBelief:
    """Return the belief under which `expected_s` is held with MIDDLE, where that is longer than it says by itself."""
    if not (math.isfinite(expected_s) and expected_s >= 0.0):
        raise InvalidInput.of("expected_s", "{given} s is no duration; give seconds of 0 or more.", given=expected_s)
    exposure_s = expected_s / (MIDDLE ** (-1.0 / belief.shape) - 1.0)
    return HoldBelief(belief.shape, max(belief.exposure_s, exposure_s), belief.n_broke)


def multiple(n_in_session: int) -> float:
    """Return the multiple of the middle that the hold after so many of this session is asked for."""
    multiples = fleshler_hoffman(LIST_TERMS, 1.0)
    return multiples[LIST_ORDER[n_in_session % LIST_TERMS]]


def fleshler_hoffman(n_terms: int, mean: float) -> tuple[float, ...]:
    """Return the `n_terms` intervals, from short to long, whose mean is `mean` and whose end cannot be foreseen.

    Model: t_n = mean [1 + ln N + (N-n) ln(N-n) - (N-n+1) ln(N-n+1)], n = 1..N, with 0 ln 0 = 0.
    Source: Fleshler and Hoffman, 1962, J. Exp. Anal. Behav. 5, 529-530; its example is in
    tests/external/test_holds.py.
    """
    k_log_k = [k * math.log(k) if k else 0.0 for k in range(n_terms + 1)]
    return tuple(
        mean * (1.0 + math.log(n_terms) + k_log_k[n_terms - n] - k_log_k[n_terms - n + 1])
        for n in range(1, n_terms + 1)
    )


def _round_down(duration_s: float) -> float:
    """Return a duration a person can count: tenths under ten seconds, whole seconds above."""
    if duration_s >= 10.0:
        return float(math.floor(duration_s))
    return max(MIN_TARGET_S, math.floor(duration_s * 10.0) / 10.0)


def _reason(target_s: float, p_hold: float, holds: Sequence[Hold]) -> Sentence:
    if not holds:
        return SAYS["first"].of(target=target_s)
    if holds[-1].broke:
        return SAYS["broke"].of(held=holds[-1].held_s, target=target_s)
    return SAYS["next"].of(target=target_s, p=p_hold)


def _require_times(criterion_duration_s: float, holds: Sequence[Hold]) -> None:
    problems = []
    if not (math.isfinite(criterion_duration_s) and criterion_duration_s >= 0.0):
        problems.append(
            Problem(
                "criterion_duration_s",
                "{given} s is no duration to work towards; give seconds of 0 or more.",
                given=criterion_duration_s,
            )
        )
    problems += [
        Problem("holds", "A hold of {held} s cannot be; give seconds of 0 or more.", held=hold.held_s)
        for hold in holds
        if not (math.isfinite(hold.held_s) and hold.held_s >= 0.0)
    ]
    if problems:
        raise InvalidInput(problems)
