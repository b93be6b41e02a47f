"""The bodies of small logs that a page keeps on the device until they are stored: codings, and runs with the timer."""

from datetime import UTC
from typing import Annotated, TypeVar
from uuid import UUID

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from pupilage.core.errors import InvalidInput
from pupilage.core.evaluation.codings import Entry, EntryKind
from pupilage.core.incidents.interval_runs import RunEvent, RunEventKind
from pupilage.services.keep_coding import CodingGiven

Seconds = Annotated[float, Field(allow_inf_nan=False)]
Body = TypeVar("Body", bound=BaseModel)


class EntryBody(BaseModel):
    """One tap of a coding."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    kind: EntryKind
    time_s: Seconds
    code: str = Field(default="", max_length=40)
    withdraws: UUID | None = None


class CodingBody(BaseModel):
    """A few taps of one coding."""

    model_config = ConfigDict(extra="forbid")

    coding: UUID
    observer: str = Field(max_length=80)
    entries: list[EntryBody] = Field(max_length=500)

    def given(self) -> CodingGiven:
        """Return them as the service reads them."""
        entries = tuple(
            Entry(str(e.id), e.kind, e.time_s, e.code, str(e.withdraws) if e.withdraws else None) for e in self.entries
        )
        return CodingGiven(self.coding, self.observer, entries)


class RunEventBody(BaseModel):
    """One tap of a run with the timer."""

    model_config = ConfigDict(extra="forbid")

    id: UUID
    kind: RunEventKind
    at: AwareDatetime
    mean_s: Seconds
    interval_s: Seconds
    withdraws: UUID | None = None

    def event(self) -> RunEvent:
        """Return core's type, in UTC."""
        taken_back = str(self.withdraws) if self.withdraws else None
        return RunEvent(str(self.id), self.kind, self.at.astimezone(UTC), self.mean_s, self.interval_s, taken_back)


class RunBody(BaseModel):
    """A few taps of one run."""

    model_config = ConfigDict(extra="forbid")

    entries: list[RunEventBody] = Field(max_length=500)


def body_of(shape: type[Body], raw: bytes) -> Body:
    """Return a request's body. Raises InvalidInput where it has another shape."""
    try:
        return shape.model_validate_json(raw)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise InvalidInput.of(where, "This cannot be read ({why}); load the page anew.", why=first["msg"]) from error
