"""Making a workspace with its first person."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from pupilage.core.access import Actor, Role
from pupilage.core.clock import find_zone
from pupilage.services.auditing import audit
from pupilage.storage.models import Installation, Membership, User, Workspace
from pupilage.storage.queries.access import get_actor


@dataclass(frozen=True)
class NewWorkspace:
    """A workspace to be made: its name, its first person, and how dates and weights are shown."""

    name: str
    username: str
    display_name: str
    timezone: str
    weight_unit: str = "kg"
    language: str = "en"
    invented: bool = False


def open_workspace(new: NewWorkspace, *, now: datetime) -> Actor:
    """Write a workspace and its keeper, without a password, and return the keeper as actor.

    Who may: the command line on the machine itself.
    """
    find_zone(new.timezone)
    with transaction.atomic():
        Installation.objects.get_or_create(id=1)
        workspace = Workspace.objects.create(
            name=new.name,
            timezone=new.timezone,
            weight_unit=new.weight_unit,
            language=new.language,
            invented=new.invented,
            created_at=now,
        )
        user = User.objects.create_user(username=new.username, display_name=new.display_name)
        Membership.objects.create(workspace=workspace, user=user, role=Role.KEEPER.value)
        actor = get_actor(user.id)
        audit(actor, "open-workspace", str(workspace.id), now=now)
    return actor
