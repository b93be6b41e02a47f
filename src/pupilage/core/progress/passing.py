"""The chance of passing the hand-over's test today: 8 of 10 at the goal's step, cold."""

from dataclasses import dataclass

import numpy as np

from pupilage.core.training.posterior.reading import Reading, chance_of_test, middles

SHARE_AT_THE_ENDS = 0.2
"""As in `outlook.chances`: the ends are those of the fifth of possible dogs that does worst, and best."""


@dataclass(frozen=True)
class PassChance:
    """The chance of the test: p over all dogs that the record still allows, and of the worst and best fifth of them."""

    p: float
    low: float
    high: float


def chance_today(reading: Reading) -> PassChance:
    """Return the chance of the test for what is believed of a single cold try at the goal's step.

    Model: P(Bin(10, p) >= 8) averaged over the posterior of p, and over its lowest and highest fifth: what
    `outlook.look_ahead` says of the hand-over day, said of today. Checked in tests/unit/progress/test_passing.py.
    """
    passes, mass = chance_of_test(middles()), reading.mass / reading.mass.sum()
    reached = np.cumsum(mass)
    lowest = np.diff(np.minimum(reached, SHARE_AT_THE_ENDS), prepend=0.0)
    highest = np.diff(np.maximum(reached, 1.0 - SHARE_AT_THE_ENDS), prepend=1.0 - SHARE_AT_THE_ENDS)
    return PassChance(
        float(mass @ passes), float(lowest @ passes) / SHARE_AT_THE_ENDS, float(highest @ passes) / SHARE_AT_THE_ENDS
    )
