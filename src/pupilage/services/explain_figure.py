"""Where a figure of the pack or of the pages of progress comes from: worked out again, beside what was last printed."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.reports.pack.contents import write_contents
from pupilage.reports.pack.figures import Figure, Figures
from pupilage.reports.pack.options import PackOptions
from pupilage.reports.progress_figures import PREFIX, note_goals, note_way
from pupilage.services.gather_pack import gather_pack
from pupilage.services.make_pack import ACTION
from pupilage.services.read_programme_progress import read_programme_progress
from pupilage.services.read_progress import read_progress
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


def list_progress_figures(actor: Actor, programme_id: UUID, *, now: datetime) -> list[Figure]:
    """Return every figure on the pages of progress. Who may: whoever may read. Raises NotFound."""
    return list(_progress(actor, programme_id, None, now=now).found.values())


def explain_figure(actor: Actor, programme_id: UUID, key: str, options: PackOptions, *, now: datetime) -> Explained:
    """Return a figure by its name, or by its number in a pack made now. Who may: whoever may read. Raises NotFound."""
    words = key.split(".")
    if words[0] == PREFIX:
        of = words[1] if len(words) > 1 else ""
        return Explained(_progress(actor, programme_id, of, now=now).of(key), None)
    figure = write_contents(gather_pack(actor, programme_id, now=now), options).figures.of(key)
    return Explained(figure, _printed(actor, programme_id, figure.key))


def _progress(actor: Actor, programme_id: UUID, behaviour: str | None, *, now: datetime) -> Figures:
    """Return the figures of the pages of progress; behaviour: only this one's, where the stay knows it."""
    stay, figures = read_programme_progress(actor, programme_id, now=now), Figures()
    keys = [*(goal.behaviour.key for goal in stay.goals), *(other.key for other in stay.others)]
    chosen = keys if behaviour not in keys else [behaviour]
    note_goals(figures, [goal for goal in stay.goals if goal.behaviour.key in chosen])
    for key in chosen:
        note_way(figures, read_progress(actor, programme_id, str(key), now=now).way)
    return figures


def _printed(actor: Actor, programme_id: UUID, key: str) -> tuple[datetime, str] | None:
    """Return when the figure last went out, and as what it was printed."""
    rows = AuditEntry.objects.filter(workspace_id=actor.workspace_id, action=ACTION, subject=str(programme_id))
    for at, detail in rows.order_by("-at", "-id").values_list("at", "detail")[:50]:
        if key in detail.get("figures", {}):
            return at, detail["figures"][key]
    return None
