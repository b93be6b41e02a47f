"""What the page of a recording sends: judgements, added events, and judgements taken back."""

from enum import StrEnum
from typing import Annotated
from uuid import UUID

from pydantic import BaseModel, ConfigDict, Field

from pupilage.core.recordings.events import EventKind, EventState
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.judge_recording import AddedEvent, Judgement

Seconds = Annotated[float, Field(allow_inf_nan=False, ge=0)]
Label = Annotated[str, Field(max_length=80)]


class What(StrEnum):
    """What an entry is."""

    JUDGE = "judge"
    ADD = "add"
    BACK = "back"


class ReviewEntry(BaseModel):
    """One key or tap. id: of the judgement, made by the page; of an added event, the event's own as well."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    what: What
    event: UUID | None = None
    state: EventState = EventState.CONFIRMED
    kind: EventKind | None = None
    label: Label = ""
    behaviour: Annotated[str, Field(max_length=60)] = ""
    start_s: Seconds | None = None
    outcome: Outcome | None = None
    takes: UUID | None = None

    def judgement(self) -> Judgement:
        """Return it as the service reads it."""
        event_id = self.event or self.id
        return Judgement(
            event_id, self.state, self.kind, self.label, self.behaviour, self.start_s, self.outcome, self.id
        )

    def added(self) -> AddedEvent:
        """Return it as the service reads it."""
        return AddedEvent(
            self.start_s or 0.0,
            self.kind or EventKind.CUE,
            self.label,
            self.behaviour,
            outcome=self.outcome,
            event_id=self.id,
        )


class ReviewBody(BaseModel):
    """A few entries of one recording, in the order in which they were made."""

    model_config = ConfigDict(extra="forbid")

    entries: list[ReviewEntry] = Field(max_length=500)
