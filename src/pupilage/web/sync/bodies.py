"""The bodies that a phone sends. Shapes are checked here; whether an event makes sense is judged in `core`."""

from typing import Any
from uuid import UUID

from pydantic import BaseModel, ConfigDict, Field


class PushBody(BaseModel):
    """A push: at most 200 events, each judged by itself. One that has not even the shape is rejected alone.

    show: the sessions whose state is to come back, of those touched; by default all of them.
    """

    model_config = ConfigDict(extra="forbid")

    owner: str = Field(max_length=200)
    events: list[Any] = Field(max_length=200)
    show: list[UUID] | None = Field(default=None, max_length=200)
