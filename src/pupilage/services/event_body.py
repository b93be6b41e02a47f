"""One event as a phone wrote it: in a push, or in a file. Whether it makes sense is judged in `core`."""

from datetime import UTC, datetime
from typing import Annotated, Any
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from pupilage.core.training.record.events import Event, EventKind


class EventBody(BaseModel):
    """One event as the phone wrote it."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    device_id: UUID
    device_seq: Annotated[int, Field(ge=0, lt=2**63)]
    session_id: UUID
    kind: EventKind
    at: AwareDatetime
    tz_offset_min: Annotated[int, Field(ge=-14 * 60, le=14 * 60)] = 0
    payload: dict[str, Any] = Field(default_factory=dict)

    def event(self) -> Event:
        """Return core's type, in UTC."""
        at: datetime = self.at.astimezone(UTC)
        return Event(
            id=str(self.id),
            device_id=str(self.device_id),
            device_seq=self.device_seq,
            session_id=str(self.session_id),
            kind=self.kind,
            at=at,
            tz_offset_min=self.tz_offset_min,
            payload=self.payload,
        )
