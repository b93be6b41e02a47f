"""Who is acting, in which workspace, and what they may do there."""

from dataclasses import dataclass
from enum import StrEnum
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
