"""The course of a stay's pup from evening to evening, kept while its record only grows."""

from collections import OrderedDict
from threading import Lock
from uuid import UUID

from pupilage.core.progress.course import Course, follow
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.storage.models import Programme

MOST_KEPT = 16
"""Pups kept in mind at once, about 2 MB each: a morning's state, and three figures a step and evening."""

_kept: OrderedDict[tuple[UUID, str], tuple[Knowledge, Course]] = OrderedDict()
_lock = Lock()


def know_course(programme: Programme, known: Knowledge) -> Course:
    """Return the course of the pup of whom so much is known; the newest day alone is gone through again.

    Assumes: the caller has asked whether the actor may read the programme.
    """
    key = (programme.id, str(known.state.zone))
    with _lock:
        found = _kept.get(key)
    if found is not None and found[0] is known:
        return found[1]
    same = found is not None and found[0].behaviours is known.behaviours and found[0].state.prior is known.state.prior
    course = follow(known, earlier=found[1] if found is not None and same else None)
    with _lock:
        _kept[key] = (known, course)
        _kept.move_to_end(key)
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return course
