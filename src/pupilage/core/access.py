"""Who is acting, in which workspace, and what they may do there."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol
from uuid import UUID
from zoneinfo import ZoneInfo

from pupilage.core.clock import find_zone
from pupilage.core.errors import Forbidden
from pupilage.core.units import WeightUnit


class Role(StrEnum):
    """What a person may do in a workspace. Stored values are fixed for good."""

    KEEPER = "keeper"
    TRAINER = "trainer"
    READER = "reader"


class Scope(Protocol):
    """Whose record is read, and where its days begin: all that reading a stay needs once it was found."""

    @property
    def workspace_id(self) -> UUID: ...

    @property
    def zone(self) -> ZoneInfo: ...


@dataclass(frozen=True)
class Actor:
    """A signed-in person in one workspace. Every service takes one, and every query is scoped by it.

    invented: all that the workspace holds is made up, as in the demo.
    """

    user_id: UUID
    workspace_id: UUID
    role: Role
    timezone: str
    weight_unit: WeightUnit = WeightUnit.KG
    language: str = "en"
    invented: bool = False

    @property
    def zone(self) -> ZoneInfo:
        return find_zone(self.timezone)

    def require_write(self) -> None:
        """Raises Forbidden for a person who may only read."""
        if self.role is Role.READER:
            raise Forbidden("You may read here, but not change anything; ask the keeper of this workspace.")


@dataclass(frozen=True)
class FamilyGuest:
    """Whoever opened a family's link: no person of the workspace, and nothing but that one stay is open to them.

    for_whom: the name that the trainer gave the link, under which what they write down is kept. No service that takes
    an `Actor` takes one of these; `storage.queries.family` is all that they can ask.
    """

    link_id: UUID
    workspace_id: UUID
    programme_id: UUID
    dog_id: UUID
    for_whom: str
    may_write: bool
    timezone: str
    weight_unit: WeightUnit = WeightUnit.KG
    language: str = "en"

    @property
    def zone(self) -> ZoneInfo:
        return find_zone(self.timezone)

    def require_write(self) -> None:
        """Raises Forbidden for a link that only shows."""
        if not self.may_write:
            raise Forbidden("With this link you can read, but not write down; ask the trainer for another one.")
