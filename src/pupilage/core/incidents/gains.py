"""What incidents gained for the dog: a weighing of what was seen, never a verdict."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.special import betaincinv, gammainc, gammaln

from pupilage.core.errors import InvalidInput
from pupilage.core.words import Figure, Sentence, sentence

PRIOR_COUNT = 0.5
"""Weight of each gain before anything was seen."""

LEANS = 0.8
"""Chance of being the commonest gain from which the words say so."""


class Gain(StrEnum):
    """What the dog had after the incident that it did not have before. Stored values are fixed for good."""

    ATTENTION = "attention"
    THING = "thing"
    """Food or an object."""
    ESCAPE = "escape"
    """Something unpleasant stopped, or it got away from it."""
    PLAY = "play"
    RELIEF = "relief"
    """The body's own: toilet, chewing itself."""


@dataclass(frozen=True)
class GainShare:
    """A gain: how often it was seen, its share with 95 % limits, and the chance that it is the commonest."""

    gain: Gain
    n: int
    share: float
    low: float
    high: float
    p_commonest: float


def weigh_gains(seen: Mapping[Gain, int]) -> list[GainShare]:
    """Return the gains, the likeliest first.

    Model: shares are Dirichlet with ½ + n each; p_commonest integrates over independent gamma variables, of which a
    Dirichlet is the normalised vector: ∫ f_i(x) Π_j F_j(x) dx.
    Raises: InvalidInput for a count below 0. Checked by simulation in tests/unit/incidents/test_gains.py.
    """
    if any(n < 0 for n in seen.values()):
        raise InvalidInput.of("gains", "A count below 0 cannot be; count them again.")
    shapes = np.array([PRIOR_COUNT + seen.get(gain, 0) for gain in Gain])
    chances = _p_largest(shapes)
    total = float(shapes.sum())
    found = [
        GainShare(
            gain,
            seen.get(gain, 0),
            float(shape / total),
            float(betaincinv(shape, total - shape, 0.025)),
            float(betaincinv(shape, total - shape, 0.975)),
            float(p),
        )
        for gain, shape, p in zip(Gain, shapes, chances, strict=True)
    ]
    return sorted(found, key=lambda one: -one.p_commonest)


def say_gains(found: list[GainShare]) -> Sentence:
    """Return what the weighing says in one sentence; it says so where it says nothing."""
    n = sum(one.n for one in found)
    first = found[0]
    if first.p_commonest < LEANS:
        return sentence("{n} incidents with a gain noted do not tell yet what it works for.", n=n)
    return _most_likely(first, n)


def _most_likely(first: GainShare, n: int) -> Sentence:
    figures: dict[str, Figure] = {"k": first.n, "n": n, "p": first.p_commonest}
    match first.gain:
        case Gain.ATTENTION:
            return sentence(
                "It most likely gains attention ({k} of {n} noted, {p:.0%} sure that nothing is commoner).", **figures
            )
        case Gain.THING:
            return sentence(
                "It most likely gains food or a thing ({k} of {n} noted, {p:.0%} sure that nothing is commoner).",
                **figures,
            )
        case Gain.ESCAPE:
            return sentence(
                "Most likely something stops, or it is left ({k} of {n} noted, {p:.0%} sure that nothing is commoner).",
                **figures,
            )
        case Gain.PLAY:
            return sentence(
                "It most likely gains a game or a chase ({k} of {n} noted, {p:.0%} sure that nothing is commoner).",
                **figures,
            )
        case Gain.RELIEF:
            return sentence(
                "It most likely gains relief ({k} of {n} noted, {p:.0%} sure that nothing is commoner).", **figures
            )


def _p_largest(shapes: np.ndarray) -> np.ndarray:
    """Return each gamma variable's chance of being the largest, by the midpoint rule on the square-root scale."""
    edges = np.linspace(0.0, np.sqrt(shapes.max() + 12.0 * np.sqrt(shapes.max()) + 20.0), 4001)
    roots = (edges[1:] + edges[:-1]) / 2.0
    x, step = roots**2, edges[1] - edges[0]
    log_density = (shapes[:, None] - 1.0) * np.log(x) - x - gammaln(shapes)[:, None] + np.log(2.0 * roots)
    below = np.stack([gammainc(shape, x) for shape in shapes])
    others = np.stack([np.prod(np.delete(below, i, axis=0), axis=0) for i in range(len(shapes))])
    chances = (np.exp(log_density) * others).sum(axis=1) * step
    return np.asarray(chances / chances.sum())
