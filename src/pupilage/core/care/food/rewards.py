"""Food that is paid in training: pieces, their energy, and the tenth of the day that treats may be."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from pupilage.core.errors import InvalidInput, Problem

TREAT_SHARE = 0.10
"""Treats, rewards, scraps and what wraps a medicine are together at most a tenth of the day's energy.

Source: the ten per cent rule of practice guidance (1000 kcal a day: 100 of treats, 900 of complete food);
tests/external/test_treats.py. Food out of the weighed ration is no treat for it (standard practice, from memory)."""


@dataclass(frozen=True)
class Reward:
    """A reinforcer as food. piece_g: grams a piece, 0 for a toy; kcal_per_100g: None where nobody knows.

    from_ration: out of the day's weighed food; rank: 1 is what this pup likes best, None where nobody has said;
    unsafe: an ingredient that must not be fed stands in it.
    """

    name: str
    piece_g: float
    kcal_per_100g: float | None = None
    from_ration: bool = False
    rank: int | None = None
    unsafe: bool = False

    @property
    def piece_kcal(self) -> float | None:
        """The energy of a piece; None where nobody knows."""
        return None if self.kcal_per_100g is None else self.piece_g * self.kcal_per_100g / 100.0

    @property
    def is_food(self) -> bool:
        return self.piece_g > 0.0


def reward_problems(reward: Reward) -> list[Problem]:
    """Return everything that is wrong with a reward's figures."""
    problems = []
    if not (math.isfinite(reward.piece_g) and reward.piece_g >= 0.0):
        problems.append(
            Problem("piece_g", "{name}: {given} g is no piece; give 0 or more.", name=reward.name, given=reward.piece_g)
        )
    kcal = reward.kcal_per_100g
    if kcal is not None and not (math.isfinite(kcal) and kcal >= 0.0):
        problems.append(
            Problem(
                "kcal_per_100g", "{name}: {given} kcal per 100 g is no food; see its label.", name=reward.name,
                given=kcal,
            )
        )  # fmt: skip
    return problems


def treat_limit_kcal(energy_kcal: float) -> float:
    """Return the most energy that treats may bring in a day of so many kcal. Raises InvalidInput below 0 or at none."""
    if not 0.0 < energy_kcal < math.inf:
        raise InvalidInput.of("energy_kcal", "{given} kcal is no day's energy; give kcal above 0.", given=energy_kcal)
    return TREAT_SHARE * energy_kcal


def grams_in(energy_kcal: float, kcal_per_100g: float) -> float:
    """Return how many grams of a food bring so much energy. Raises InvalidInput for a food without energy."""
    if not 0.0 < kcal_per_100g < math.inf:
        raise InvalidInput.of("kcal_per_100g", "{given} kcal per 100 g is no food; see its label.", given=kcal_per_100g)
    return 100.0 * energy_kcal / kcal_per_100g


def treats_kcal(pieces: Iterable[tuple[Reward, int]]) -> float:
    """Return the energy of the pieces given that are outside the ration; those of unknown energy count nothing."""
    return math.fsum((one.piece_kcal or 0.0) * n for one, n in pieces if not one.from_ration)
