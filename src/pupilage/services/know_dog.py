"""What is known of a stay's pup, folded from its whole record and kept while the record stays the same."""

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.training.knowledge import Knowledge, know
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.programmes import LogMark, log_mark_of
from pupilage.storage.queries.sessions import list_trials

MOST_KEPT = 16
"""Pups kept in mind at once, about 3 MB each."""


@dataclass(frozen=True)
class _Kept:
    mark: LogMark
    catalogue: Catalogue
    knowledge: Knowledge


_kept: OrderedDict[tuple[UUID, str], _Kept] = OrderedDict()
_lock = Lock()


def know_dog(actor: Actor, programme: Programme) -> Knowledge:
    """Return what is known of the programme's pup.

    The log only grows, so its marks tell whether anything has changed; when nothing has, no query is made.
    Otherwise the fold goes on from the newest state that the record still bears out.
    Assumes: the caller has asked whether the actor may read the programme.
    """
    key = (programme.id, actor.zone.key)
    mark, catalogue = log_mark_of(actor, programme), load_catalogue()
    with _lock:
        kept = _kept.get(key)
    if kept is not None and kept.mark == mark and kept.catalogue is catalogue:
        return kept.knowledge
    earlier = kept.knowledge if kept is not None and kept.catalogue is catalogue else None
    known = know(catalogue.behaviours, list_trials(programme), zone=actor.zone, earlier=earlier)
    with _lock:
        _kept[key] = _Kept(mark, catalogue, known)
        _kept.move_to_end(key)
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return known
