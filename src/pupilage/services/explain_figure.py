"""Where a figure of the pack comes from: worked out again, beside what was last printed."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.reports.pack.contents import write_contents
from pupilage.reports.pack.figures import Figure
from pupilage.reports.pack.options import PackOptions
from pupilage.services.gather_pack import gather_pack
from pupilage.services.make_pack import ACTION
from pupilage.storage.models import AuditEntry


@dataclass(frozen=True)
class Explained:
    """A figure as it would be printed now. printed: when it last went out in a pack, and as what; None before."""

    figure: Figure
    printed: tuple[datetime, str] | None


def list_figures(actor: Actor, programme_id: UUID, options: PackOptions, *, now: datetime) -> list[Figure]:
    """Return every figure that a pack made now would hold. Who may: whoever may read. Raises NotFound."""
    found = write_contents(gather_pack(actor, programme_id, now=now), options).figures.found
    return list(found.values())


def explain_figure(actor: Actor, programme_id: UUID, key: str, options: PackOptions, *, now: datetime) -> Explained:
    """Return a figure by its name, or by its number in a pack made now. Who may: whoever may read. Raises NotFound."""
    figure = write_contents(gather_pack(actor, programme_id, now=now), options).figures.of(key)
    return Explained(figure, _printed(actor, programme_id, figure.key))


def _printed(actor: Actor, programme_id: UUID, key: str) -> tuple[datetime, str] | None:
    """Return when the figure last went out, and as what it was printed."""
    rows = AuditEntry.objects.filter(workspace_id=actor.workspace_id, action=ACTION, subject=str(programme_id))
    for at, detail in rows.order_by("-at", "-id").values_list("at", "detail")[:50]:
        if key in detail.get("figures", {}):
            return at, detail["figures"][key]
    return None
