"""What a dog likes best: the order of its reinforcers."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.storage.models import Dog
from pupilage.storage.queries.dogs import dog_writable_by, list_reinforcers

MOST = 99


def rank_reinforcers(actor: Actor, dog_id: UUID, ranks: Mapping[str, int | None], *, now: datetime) -> None:
    """Write what a dog likes best: by the reinforcer's name a rank, 1 best; None or left out: not ranked. Idempotent.

    Who may: whoever may write. Equal ranks keep the list's order. Raises InvalidInput with every problem at once.
    """
    dog = dog_writable_by(actor, dog_id)
    known = {row.name: str(row.id) for row in list_reinforcers(actor)}
    problems = [
        Problem(name, "There is no reinforcer “{name}” on your list.", name=name) for name in ranks if name not in known
    ]
    problems += [
        Problem(name, "{n} is no rank; 1 is what it likes best, up to {most}.", n=rank, most=MOST)
        for name, rank in ranks.items()
        if rank is not None and not 1 <= rank <= MOST
    ]
    if problems:
        raise InvalidInput(problems)
    ordered = sorted((rank, i, name) for i, (name, rank) in enumerate(ranks.items()) if rank is not None)
    with transaction.atomic():
        Dog.objects.filter(id=dog.id).update(likes=[known[name] for _, _, name in ordered])
        audit(actor, "rank-reinforcers", str(dog.id), now=now, order=[name for _, _, name in ordered])
