"""Draws from the scenario's one generator, as plain Python values that a log can hold."""

from collections.abc import Sequence
from typing import TypeVar
from uuid import UUID

from numpy.random import Generator

Thing = TypeVar("Thing")


def draw_id(rng: Generator) -> str:
    """Return a version 4 UUID made of the generator's bits: valid everywhere, and the same for the same seed."""
    return str(UUID(bytes=rng.bytes(16), version=4))


def happens(rng: Generator, p_happens: float) -> bool:
    """Return True with this probability (0 to 1)."""
    return bool(rng.random() < p_happens)


def pick(rng: Generator, things: Sequence[Thing]) -> Thing:
    """Return one of the things, each as likely as the next."""
    return things[int(rng.integers(len(things)))]


def pick_some(rng: Generator, things: Sequence[Thing], n: int) -> list[Thing]:
    """Return n different things (all of them when there are fewer), in the order in which they stood."""
    chosen = rng.choice(len(things), size=min(n, len(things)), replace=False)
    return [things[int(i)] for i in sorted(chosen)]


def between(rng: Generator, low: float, high: float) -> float:
    """Return a number drawn evenly between low and high."""
    return float(rng.uniform(low, high))


def whole(rng: Generator, low: int, high: int) -> int:
    """Return a whole number drawn evenly from low to high, both included."""
    return int(rng.integers(low, high + 1))
