"""The body of an absence that a phone has timed."""

from datetime import datetime, timedelta
from uuid import UUID

from pydantic import BaseModel, ConfigDict

from pupilage.core.incidents.absences import AbsenceRecord, Had, SignAt, Spot, State, Watched
from pupilage.core.incidents.alone import Sign


class SignBody(BaseModel):
    """A sign, and the seconds after leaving."""

    model_config = ConfigDict(extra="forbid")

    sign: Sign
    at_s: float | None


class AbsenceBody(BaseModel):
    """An absence by the phone's own clock, in its milliseconds: left, back, and sent.

    What counts is how long ago it was when it was sent, so that a phone whose clock is wrong writes the right time.
    """

    model_config = ConfigDict(extra="forbid")

    id: UUID
    owner: str
    gone_ms: float
    back_ms: float
    sent_ms: float
    signs: list[SignBody]
    spot: Spot | None = None
    resident: bool = False
    had: list[Had] = []
    state: list[State] = []
    watched: Watched = Watched.CAMERA
    note: str = ""

    def record(self, now: datetime) -> AbsenceRecord:
        """Return the absence as core's type."""
        return AbsenceRecord(
            id=str(self.id),
            at=now - timedelta(milliseconds=self.sent_ms - self.gone_ms),
            away_s=round((self.back_ms - self.gone_ms) / 1000.0, 1),
            signs=tuple(SignAt(one.sign, one.at_s) for one in self.signs),
            spot=self.spot,
            resident=self.resident,
            had=tuple(self.had),
            state=tuple(self.state),
            watched=self.watched,
            note=self.note,
        )
