"""Which next try tells most: the criterion after which the least is expected to be left unknown."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from pupilage.core.catalogue.behaviour import Criterion
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.difficulty import Dimension
from pupilage.core.training.posterior.learners import Floats
from pupilage.core.training.posterior.reading import Reading
from pupilage.core.training.thresholds.chances import chance, reading_of
from pupilage.core.training.thresholds.ruler import WEIGHED, value_of, with_value
from pupilage.core.training.thresholds.weighing import Weighed
from pupilage.core.words import Sentence, sentence

LEAST_P = 0.55
MOST_P = 0.95
"""A try is worth asking for within these: below, the dog fails too often; above, little is learned of it."""

BEYOND_TRIED = 2.0
"""No criterion in between asks for more than twice the longest or farthest tried so far (common practice)."""


@dataclass(frozen=True)
class NextTry:
    """The most useful next try: `step` is the key of the step that it is, or that it lies next to.

    dimension: the one that differs from the step now practised; None when it is a step of the list. bits: expected
    fall of the entropy of skill and factors.
    """

    criterion: Criterion
    step: str
    dimension: Dimension | None
    reading: Reading
    bits: float


@dataclass(frozen=True)
class Candidate:
    """A criterion that may be asked for: at or next to a step (its place in the list)."""

    criterion: Criterion
    step: int
    dimension: Dimension | None = None


def expected_entropies(p: Floats, weight: Floats) -> Floats:
    """Return the expected entropy (Z,), in nats, of the cells after one try at each of Z criteria.

    Model: H(cells) - [h(sum_c w_c p_c) - sum_c w_c h(p_c)], h the entropy of met or not; the same figure as the entropy
    after each answer, weighed by its chance, of Lindley, 1956, and of the rule of Watson, 2017, "QUEST+", J. Vision 17.
    Parameters: p (Z, C), chances in 0 to 1; weight (C,), 0 or more, adding up to 1.
    Raises: InvalidInput for chances or weights that are none.
    Checked against questplus 2023.1 in tests/external/test_thresholds.py.
    """
    if not (np.isfinite(p).all() and p.min() >= 0.0 and p.max() <= 1.0):
        raise InvalidInput.of("p", "A chance lies outside 0 to 1; give chances only.")
    if not (np.isfinite(weight).all() and weight.min() >= 0.0 and abs(float(weight.sum()) - 1.0) < 1e-6):
        raise InvalidInput.of("weight", "The weights are below 0 or do not add up to 1; give a distribution.")
    return np.asarray(_entropy(weight) - _binary_entropy(p @ weight) + _binary_entropy(p) @ weight)


def _entropy(weight: Floats) -> float:
    known = weight[weight > 0.0]
    return -float(known @ np.log(known))


def _binary_entropy(p: Floats) -> Floats:
    inside = np.clip(p, 1e-12, 1.0 - 1e-12)
    return np.asarray(-inside * np.log(inside) - (1.0 - inside) * np.log1p(-inside))


def next_try(weighed: Weighed, step: int) -> tuple[NextTry | None, Sentence]:
    """Return the most useful next try near a step (its place in the list), and why; or None, and what to do.

    Model: least expected entropy among the candidates that are expected to be met between 55 and 95 times in 100.
    """
    near = tuple(candidates(weighed, step))
    found = [chance(weighed, one.criterion, one.step) for one in near]
    means = np.array([float(one.value @ one.weight) / float(one.weight.sum()) for one in found])
    fit = [i for i, p in enumerate(means) if LEAST_P <= p <= MOST_P]
    if not fit:
        return None, _nothing(means)
    weight = found[0].weight / found[0].weight.sum()
    left = expected_entropies(np.stack([found[i].value for i in fit]), weight)
    place = int(np.argmin(left))
    bits = (_entropy(weight) - float(left[place])) / float(np.log(2.0))
    best, reading = near[fit[place]], reading_of(found[fit[place]])
    key = weighed.ruler.behaviour.steps[best.step].key
    return NextTry(best.criterion, key, best.dimension, reading, max(0.0, bits)), sentence(
        "Of {n} criteria near this step, this one tells most; it should be met about {p:.0%} of the time.",
        n=len(near),
        p=reading.mean,
    )


def _nothing(means: Floats) -> Sentence:
    if means.max() < LEAST_P:
        return sentence("Even the easiest criterion is expected to be missed too often: begin again at the first step.")
    if means.min() > MOST_P:
        return sentence(
            "All that is near this step is met so surely that a try would tell little: raise the criterion."
        )
    return sentence("All that is near this step is either met too surely to tell much, or missed too often.")


def candidates(weighed: Weighed, step: int) -> Iterator[Candidate]:
    """Return the steps up to the one after this one, and criteria that change one dimension of this one.

    Nothing goes beyond what the list asks for somewhere, nor beyond twice the longest and farthest tried.
    """
    steps = weighed.ruler.behaviour.steps
    for i in range(min(step + 2, len(steps))):
        yield Candidate(steps[i].criterion, i)
    listed = {one.criterion for one in steps}
    here = steps[step].criterion
    for dimension in WEIGHED:
        for value in _between(weighed, dimension, step):
            criterion = with_value(here, dimension, value)
            if criterion not in listed:
                yield Candidate(criterion, step, dimension)


def _between(weighed: Weighed, dimension: Dimension, step: int) -> list[float]:
    """Return the values of a dimension next to the step's own: the list's neighbours, and halfway to each."""
    steps = weighed.ruler.behaviour.steps
    own = value_of(steps[step].criterion, dimension)
    asked = sorted({value_of(one.criterion, dimension) for one in steps})
    lower = [value for value in asked if value < own][-1:]
    higher = [value for value in asked if value > own][:1]
    if dimension in (Dimension.DURATION, Dimension.DISTANCE):
        ends = lower + higher
        most = max(own, BEYOND_TRIED * _most_tried(weighed, dimension))
        values = {_countable(value) for end in ends for value in (end, ((1 + own) * (1 + end)) ** 0.5 - 1.0)}
        return sorted(value for value in values if value <= most and value != own)
    if dimension is Dimension.PLACE:
        return lower + higher
    degrees = range(int(min([own, *lower])), int(max([own, *higher])) + 1)
    return [float(degree) for degree in degrees if degree != own]


def _most_tried(weighed: Weighed, dimension: Dimension) -> float:
    """Return the longest duration or farthest distance of the record, 0 without one."""
    steps = weighed.ruler.behaviour.steps
    asked = ((steps[one.step].criterion, one.duration_s) for one in weighed.rounds)
    return max((s if dimension is Dimension.DURATION else one.distance_m for one, s in asked), default=0.0)


def _countable(value: float) -> float:
    """Return a figure that a person can count or pace out: tenths below ten, whole above."""
    return float(round(value)) if value >= 10.0 else round(value, 1)
