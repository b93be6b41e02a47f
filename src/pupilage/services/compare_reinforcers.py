"""Which reinforcers work for a stay's pup, kept while the record stays the same."""

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from threading import Lock
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.rewards import reinforcers
from pupilage.core.training.rewards.foresight import Foresight, foresee
from pupilage.core.training.rewards.reinforcers import Comparison
from pupilage.services.know_dog import know_dog
from pupilage.storage.models import Programme
from pupilage.storage.queries.sessions import list_pouches

MOST_KEPT = 16
"""Pups kept in mind at once, as in `know_dog`."""


@dataclass(frozen=True)
class ReinforcerRecord:
    """The reinforcers of a pup compared, and the name of the one in the pouch at every try, by event id."""

    comparison: Comparison
    names: Mapping[str, str]


@dataclass(frozen=True)
class _Kept:
    known: Knowledge
    foresight: Foresight
    record: ReinforcerRecord


_kept: OrderedDict[tuple[UUID, str], _Kept] = OrderedDict()
_lock = Lock()


def compare_reinforcers(actor: Actor, programme: Programme) -> ReinforcerRecord:
    """Return what each reinforcer does for the programme's pup. Assumes: the actor may read the programme.

    Nothing is worked out again while `know_dog` gives the same knowledge; a new one is foreseen from where the last
    ended. A refill that changes the reinforcer without a new try is seen with the next try.
    """
    key = (programme.id, actor.zone.key)
    known = know_dog(actor, programme)
    with _lock:
        kept = _kept.get(key)
    if kept is not None and kept.known is known:
        return kept.record
    same_catalogue = kept is not None and kept.known.behaviours is known.behaviours
    foresight = foresee(known, kept.foresight if kept is not None and same_catalogue else None)
    names = reinforcers.reinforcers_of(known.trials, list_pouches(programme))
    comparison = reinforcers.compare_reinforcers(reinforcers.tries_of(known.trials, foresight.p, names))
    record = ReinforcerRecord(comparison, names)
    with _lock:
        _kept[key] = _Kept(known, foresight, record)
        _kept.move_to_end(key)
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return record
