"""A recording of a time alone, and the absences whose signs it may become."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.absences import AbsenceRecord
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.bouts import Bout, Heard
from pupilage.core.recordings.events import Event, EventState
from pupilage.core.recordings.noises.home_alone import SIGNS, HomeAlone, read_home_alone
from pupilage.core.recordings.reading import Purpose, ReadingState
from pupilage.core.words import Sentence
from pupilage.services.log_absence import accept_bouts
from pupilage.storage.models import Recording
from pupilage.storage.queries.absences import list_absences
from pupilage.storage.queries.recordings import list_recording_events, recording_readable_by, recording_writable_by

NEAR = timedelta(hours=12)
"""A camera's clock may be wrong by hours: absences as near as this are offered, the nearest first."""


@dataclass(frozen=True)
class HomePage:
    """What a recording of a time alone holds as it was judged, and the absences that it may be of, the nearest first.

    doubt: why it cannot be told; then only what was confirmed is in `alone`.
    """

    alone: HomeAlone
    doubt: Sentence | None
    absences: tuple[AbsenceRecord, ...]


def read_home(actor: Actor, recording_id: UUID) -> HomePage | None:
    """Return what was heard, None for a recording of a session or one not read yet. Who may: whoever may read."""
    recording = recording_readable_by(actor, recording_id)
    if recording.purpose != Purpose.ALONE or recording.state != ReadingState.READ or not recording.duration_s:
        return None
    doubt = _doubt(recording)
    alone = _alone(list_recording_events(recording), recording.duration_s, doubtful=doubt is not None)
    began = recording.began_at
    found = list_absences(recording.dog) if began else []
    near = [one for one in found if began and abs(one.at - began) <= NEAR]
    return HomePage(alone, doubt, tuple(sorted(near, key=lambda one: abs(one.at - began) if began else NEAR)))


def hear_absence(actor: Actor, recording_id: UUID, absence_id: UUID, *, now: datetime) -> UUID:
    """Let the bouts become signs of the absence, by their times, and return the id of the row that now stands.

    Who may: whoever may write. Raises InvalidInput where nobody has said when the recording began, or it is of a
    session; what `log_absence.accept_bouts` raises.
    """
    recording = recording_writable_by(actor, recording_id)
    page = read_home(actor, recording_id)
    if page is None or not recording.duration_s:
        raise InvalidInput.of("absence", "This recording is not of the pup alone, or is not read yet.")
    chosen = next((one for one in page.absences if one.id == str(absence_id)), None)
    if recording.began_at is None or chosen is None:
        raise InvalidInput.of("absence", "Choose an absence of that day; write it down first where it is missing.")
    bouts = tuple(Bout(Sign(SIGNS[one.kind]), one.start_s, one.end_s) for one in page.alone.bouts)
    begins_s = (recording.began_at - chosen.at).total_seconds()
    return accept_bouts(actor, absence_id, Heard(bouts, recording.duration_s, begins_s), now=now)


def _alone(events: Sequence[Event], duration_s: float, *, doubtful: bool) -> HomeAlone:
    """Return the figures; in a home that is too noisy to read only what a person confirmed counts."""
    counting = [event for event in events if not doubtful or event.state is EventState.CONFIRMED]
    return read_home_alone(counting, door_s=0.0, end_s=duration_s)


def _doubt(recording: Recording) -> Sentence | None:
    told = (recording.result or {}).get("doubt")
    return Sentence(told[0], told[1]) if told else None
