"""What the decision will be after each outcome of the next tries, for a phone that hears nothing for a while."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour, Scoring
from pupilage.core.training.criterion.decision import Decision
from pupilage.core.training.criterion.session_table import make_session_table
from pupilage.core.training.criterion.tables import Start
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.training.record.fold import fold_session
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import frame_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.programmes import find_target
from pupilage.storage.queries.sessions import list_events, session_readable_by


@dataclass(frozen=True)
class Ahead:
    """Decisions by what is to come (letters m, x, h, `>`), for a step, after so many trials of the session."""

    behaviour: Behaviour
    step: str
    n_trials: int
    newest_trial: str
    decisions: Mapping[str, Decision]


def read_ahead(actor: Actor, session_id: UUID, *, now: datetime) -> Ahead | None:
    """Return the table of a running session. Who may: whoever may read. Raises NotFound.

    None for holds, whose outcome is a time, for probes, which decide nothing, and for a session that is over.
    """
    row = session_readable_by(actor, session_id)
    record = fold_session(list_events(actor, session_id))
    behaviour = load_catalogue().find_behaviour(row.behaviour)
    if record is None or behaviour is None or record.ended_at is not None or behaviour.step(record.step) is None:
        return None
    if record.kind is SessionKind.PROBE or behaviour.scoring is Scoring.HOLD:
        return None
    known = know_dog(actor, row.programme)
    newest = [trial.at for trial in known.trials[-1:]]
    target = find_target(row.programme, behaviour.key)
    days = frame_of(actor, row.programme).days_left(now)
    start = Start(str(session_id), record.step, max([now, *newest]), record.pieces_left, target, days)
    last = record.last_standing_trial
    return Ahead(
        behaviour,
        record.step,
        len(record.trials),
        "" if last is None else last.event_id,
        make_session_table(behaviour, known, start),
    )
