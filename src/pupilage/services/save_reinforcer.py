"""Keeping the list of what the pup works for."""

import math
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.care.food.label import MAX_KCAL_PER_100G
from pupilage.core.errors import InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.storage.models import Reinforcer

MAX_PIECE_G = 50.0


@dataclass(frozen=True)
class ReinforcerEntry:
    """A reinforcer: grams a piece (0 for a toy), kcal per 100 g, whether it comes out of the weighed ration.

    ingredients: as the package lists them.
    """

    name: str
    piece_g: float
    kcal_per_100g: float | None = None
    from_ration: bool = False
    ingredients: str = ""
    retired: bool = False


def save_reinforcer(actor: Actor, entry: ReinforcerEntry, *, now: datetime) -> None:
    """Add a reinforcer or change the one of this name. Idempotent. Who may: whoever may write.

    A retired one is no longer offered; sessions that used it keep its name. Raises InvalidInput with every problem.
    """
    actor.require_write()
    problems = reinforcer_problems(entry)
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        Reinforcer.objects.update_or_create(
            workspace_id=actor.workspace_id,
            name=entry.name.strip(),
            defaults={
                "piece_g": entry.piece_g,
                "kcal_per_100g": entry.kcal_per_100g,
                "from_ration": entry.from_ration,
                "ingredients": entry.ingredients.strip(),
                "retired": entry.retired,
            },
        )
        audit(actor, "save-reinforcer", entry.name, now=now, retired=entry.retired)


def reinforcer_problems(entry: ReinforcerEntry) -> list[Problem]:
    """Return everything that is wrong with a reinforcer."""
    problems = []
    if not 0 < len(entry.name.strip()) <= 80:
        problems.append(Problem("name", "Give the reinforcer a name of at most 80 letters."))
    if not (math.isfinite(entry.piece_g) and 0 <= entry.piece_g <= MAX_PIECE_G):
        problems.append(
            Problem("piece_g", "{n:g} g is no piece; give grams from 0 to {most:g}.", n=entry.piece_g, most=MAX_PIECE_G)
        )
    kcal = entry.kcal_per_100g
    if kcal is not None and not (math.isfinite(kcal) and 0 <= kcal <= MAX_KCAL_PER_100G):
        problems.append(
            Problem(
                "kcal_per_100g",
                "{n:g} kcal per 100 g is no food; the label has a number up to {most:g}.",
                n=kcal,
                most=MAX_KCAL_PER_100G,
            )
        )
    return problems
