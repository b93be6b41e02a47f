"""A session as two people wrote it down, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.errors import NotFound
from pupilage.core.evaluation.codings import Coding, Mark, coding_of
from pupilage.core.evaluation.comparison import Comparison, Terms, compare_codings
from pupilage.core.training.record.fold import SessionRecord, fold_session
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.codings import list_session_codings
from pupilage.storage.queries.sessions import list_events, session_readable_by

OWN_LOG = "log"
"""Stands for the session's own log among the codings."""


@dataclass(frozen=True)
class Sides:
    """Which two codings: ids of stored ones, or `log`; empty: the log, and the newest stored one that is not `one`."""

    one: str = ""
    other: str = ""


@dataclass(frozen=True)
class Named:
    """A coding that can be chosen. id: `log`, or a stored coding's."""

    id: str
    coding: Coding
    made_at: datetime


@dataclass(frozen=True)
class AgreementPage:
    """A session's codings, and two of them compared; comparison is None while there is no second one.

    is_open: the session goes on still, so that its own log has no end.
    """

    session_id: UUID
    dog: str
    behaviour_key: str
    behaviour: Behaviour | None
    started_at: datetime
    is_open: bool
    codings: tuple[Named, ...]
    one: str
    other: str
    comparison: Comparison | None


def compare_session_codings(
    actor: Actor,
    session_id: UUID,
    sides: Sides,
    terms: Terms,
    *,
    log_name: str,
    given: Sequence[Coding] = (),
) -> AgreementPage:
    """Return the agreement of two codings of a session. Who may: whoever may read.

    log_name: how the session's own log is called among the observers. given: codings from elsewhere, such as a file;
    they come before the stored ones. Raises NotFound for an unknown session or side, InvalidInput for terms.
    """
    row = session_readable_by(actor, session_id)
    record = fold_session(list_events(actor, session_id))
    assert record is not None  # noqa: S101  a session's row is made from its start
    codings = (
        *(Named(coding.observer, coding, row.started_at) for coding in given),
        *(Named(str(kept.id), kept.coding, kept.made_at) for kept in list_session_codings(row)),
    )
    named = (Named(OWN_LOG, log_coding(record, log_name), row.started_at), *codings)
    one = _find(named, sides.one or OWN_LOG)
    rest = [side for side in named if side.id not in {one.id, "" if one.id == OWN_LOG else OWN_LOG}]
    other = _find(named, sides.other) if sides.other else next(iter(rest), None)
    comparison = compare_codings(one.coding, other.coding, terms) if other else None
    return AgreementPage(
        session_id=session_id,
        dog=row.programme.dog.name,
        behaviour_key=row.behaviour,
        behaviour=load_catalogue().find_behaviour(row.behaviour),
        started_at=row.started_at,
        is_open=record.ended_at is None,
        codings=named,
        one=one.id,
        other=other.id if other else "",
        comparison=comparison,
    )


def log_coding(record: SessionRecord, name: str) -> Coding:
    """Return a session's own log as a coding: seconds from its start, and the outcome that stands of each trial."""
    marks = [
        Mark(max(0.0, (trial.at - record.started_at).total_seconds()), trial.outcome.value) for trial in record.trials
    ]
    length_s = (record.ended_at - record.started_at).total_seconds() if record.ended_at else None
    return coding_of(name, marks, length_s=length_s)


def _find(named: Sequence[Named], wanted: str) -> Named:
    found = next((side for side in named if side.id == wanted), None)
    if found is None:
        raise NotFound("There is no such coding of this session; choose one from the list.")
    return found
