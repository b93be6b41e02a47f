"""Who the command line acts as: the keeper of the workspace."""

from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, NotFound
from pupilage.storage.queries.keepers import list_keepers


def get_keeper(workspace: str = "") -> Actor:
    """Return the keeper of the only workspace, or of the one with this name or id.

    Who may: whoever may read the database's file.

    Raises NotFound, or Conflict when there are several to choose from.
    """
    keepers = list_keepers()
    if workspace:
        keepers = [k for k in keepers if workspace in {k.workspace, str(k.actor.workspace_id)}]
    if len(keepers) == 1:
        return keepers[0].actor
    if keepers:
        raise Conflict(
            "There are {n} workspaces here; choose one with --workspace: {known}.",
            n=len(keepers),
            known=", ".join(f"“{k.workspace}” ({k.actor.workspace_id})" for k in keepers),
        )
    if workspace:
        raise NotFound("There is no workspace “{name}” here; check the name.", name=workspace)
    raise NotFound("There is no workspace yet; `pupilage serve` opens one.")
