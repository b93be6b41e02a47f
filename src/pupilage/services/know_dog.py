"""What is known of a stay's pup, folded from its whole record and kept while the record stays the same."""

from collections import OrderedDict
from dataclasses import dataclass
from threading import Lock
from uuid import UUID

from pupilage.core.access import Scope
from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.training.pooling.prior_shape import SHIPPED, find_shape, prior_of
from pupilage.core.training.posterior.knowledge import Knowledge, know
from pupilage.core.training.record.evidence import Trial
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme
from pupilage.storage.queries.programmes import LogMark, log_mark_of
from pupilage.storage.queries.sessions import SessionMark, trial_marks, trials_by_session

MOST_ASKED = 100
"""More changed sessions than this are read along with all the others."""

MOST_KEPT = 16
"""Pups kept in mind at once, about 3 MB each."""


Sessions = dict[str, tuple[SessionMark, list[Trial]]]


@dataclass(frozen=True)
class _Kept:
    """The log's mark, the catalogue, what came of them, and the trials by session with the mark of each."""

    mark: LogMark
    catalogue: Catalogue
    knowledge: Knowledge
    sessions: Sessions


_kept: OrderedDict[tuple[UUID, str], _Kept] = OrderedDict()
_lock = Lock()


def know_dog(scope: Scope, programme: Programme) -> Knowledge:
    """Return what is known of the programme's pup.

    The log only grows, so its marks tell whether anything has changed; when nothing has, no query is made.
    Otherwise the sessions that were written anew are read, and the fold goes on from the newest state that the record
    still bears out.
    Assumes: the caller has asked whether whoever asks may read the programme.
    """
    key = (programme.id, scope.zone.key)
    mark, catalogue = log_mark_of(scope, programme), load_catalogue()
    with _lock:
        kept = _kept.get(key)
    if kept is not None and kept.mark == mark and kept.catalogue is catalogue:
        return kept.knowledge
    if kept is not None and kept.catalogue is not catalogue:
        kept = None
    sessions = _read_sessions(programme, {} if kept is None else kept.sessions)
    trials = [trial for _, own in sessions.values() for trial in own]
    earlier = None if kept is None else kept.knowledge
    prior = prior_of(find_shape(programme.prior_shape) or SHIPPED)
    known = know(catalogue.behaviours, trials, zone=scope.zone, prior=prior, earlier=earlier)
    with _lock:
        _kept[key] = _Kept(mark, catalogue, known, sessions)
        _kept.move_to_end(key)
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return known


def _read_sessions(programme: Programme, kept: Sessions) -> Sessions:
    """Return every session's trials; where some are kept, only those that changed are read."""
    if not kept:
        return trials_by_session(programme)
    marks = trial_marks(programme)
    changed = {key for key, mark in marks.items() if key not in kept or kept[key][0] != mark}
    if len(changed) > MOST_ASKED:
        return trials_by_session(programme)
    read = trials_by_session(programme, sessions=changed) if changed else {}
    return {key: kept[key] for key in marks if key not in changed} | read
