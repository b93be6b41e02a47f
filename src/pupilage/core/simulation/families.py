"""Made families after a hand-over: how often the rule for a call errs, and how soon it finds what has gone wrong."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from pupilage.core.handover.calls import OwnAccidents, Reason, Why, reasons_to_call
from pupilage.core.handover.family_log import Entry, EntryKind, OutingWord
from pupilage.core.handover.kept import hold_against
from pupilage.core.training.posterior.reading import N_BINS, Reading, middles

Floats = NDArray[np.float64]

START = datetime(2026, 1, 1, 12, tzinfo=UTC)
N_DAYS = 56
LOOK_EVERY = 7
"""The trainer looks once a week."""


@dataclass(frozen=True)
class MadeFamily:
    """How a family is made. keeps: logits by which the pup keeps more or less than forecast; spread: of the forecast,
    logits; p_write: the chance of an entry a day and behaviour; accidents: times the rate before; own: a day, before.
    """

    n_behaviours: int = 6
    keeps: float = 0.0
    spread: float = 0.6
    p_write: float = 0.3
    accident_times: float = 1.0
    own_a_day: float = 0.15


@dataclass(frozen=True)
class Alarms:
    """Of n families: with a call for a weak cue, for accidents, for either, at some look in eight weeks; and the median
    day of the first call, None where fewer than half had one.
    """

    n: int
    fallen: float
    accidents: float
    either: float
    median_day: float | None


def alarms(made: MadeFamily, *, n: int, rng: Generator) -> Alarms:
    """Return how often families of this kind are called in eight weeks of weekly looks, if nobody calls in between."""
    first = [_first_calls(made, rng) for _ in range(n)]
    fallen, accidents = (np.array([one[i] for one in first]) for i in (0, 1))
    either = np.minimum(fallen, accidents)
    middle = float(np.median(either))
    return Alarms(
        n,
        float(np.isfinite(fallen).mean()),
        float(np.isfinite(accidents).mean()),
        float(np.isfinite(either).mean()),
        middle if np.isfinite(middle) else None,
    )


def _first_calls(made: MadeFamily, rng: Generator) -> tuple[float, float]:
    """Return the day of the first call for a weak cue and for accidents, infinite for none."""
    skills = rng.normal(1.5, 0.7, made.n_behaviours)
    # the forecast is right on average: the truth is one draw from it, plus what the pup keeps more or less
    truth = skills + rng.normal(0.0, made.spread, made.n_behaviours) + made.keeps
    told: list[list[tuple[int, bool]]] = [[] for _ in skills]
    entries: list[Entry] = []
    own = OwnAccidents(int(rng.poisson(14 * made.own_a_day)), 14.0)
    first = [np.inf, np.inf]
    for day in range(1, N_DAYS + 1):
        for i in range(made.n_behaviours):
            if rng.random() < made.p_write:
                told[i].append((day, bool(rng.random() < _chance(truth[i], day))))
        entries += _accidents(day, rng.poisson(made.own_a_day * made.accident_times))
        if day % LOOK_EVERY == 0:
            found = {why.reason for why in _look(skills, made.spread, told, entries, own, day)}
            for place, reason in enumerate((Reason.FALLEN, Reason.ACCIDENTS)):
                if reason in found:
                    first[place] = min(first[place], float(day))
    return first[0], first[1]


def _look(
    skills: Floats,
    spread: float,
    told: Sequence[list[tuple[int, bool]]],
    entries: list[Entry],
    own: OwnAccidents,
    day: int,
) -> Sequence[Why]:
    kept = [
        hold_against(
            _reading(skill, spread, day),
            [(_reading(skill, spread, at), met) for at, met in own_told],
            behaviour=str(i),
            step="goal",
        )
        for i, (skill, own_told) in enumerate(zip(skills, told, strict=True))
    ]
    return reasons_to_call(entries, kept, [], own, now=START + timedelta(days=day))


def _accidents(day: int, n: int) -> list[Entry]:
    at = START + timedelta(days=day)
    return [Entry(f"{day}-{i}", EntryKind.OUTING, at, subject=OutingWord.ACCIDENT) for i in range(n)]


def _chance(skill: float, day: int) -> float:
    """Return the chance of a cold try: a power law of forgetting with a half-life of 60 days."""
    return float(1.0 / (1.0 + np.exp(-(skill * 60.0 / (60.0 + day)))))


def _reading(skill: float, spread: float, day: int) -> Reading:
    """Return the forecast of a day: normal in logits around the skill, forgotten by then."""
    logits = np.log(middles() / (1.0 - middles())) * (60.0 + day) / 60.0
    p = middles()
    density = np.exp(-0.5 * ((logits - skill) / spread) ** 2) / (p * (1.0 - p))
    mass = density / density.sum()
    assert len(mass) == N_BINS  # noqa: S101  bins of the reading
    return Reading(float(mass @ p), mass=mass)
