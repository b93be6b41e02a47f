"""The hand-over pack: gathered, written, typeset. Only its audit row is stored."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.reports.pack.contents import Contents, write_contents
from pupilage.reports.pack.options import PackOptions
from pupilage.reports.pack.typesetting import typeset
from pupilage.services.auditing import audit
from pupilage.services.gather_pack import gather_pack

N_PARTS = 3
"""What `each` is called after: gathered, written, typeset."""

ACTION = "make-pack"


@dataclass(frozen=True)
class MadePack:
    """A pack: the bytes of its PDF, and what it says."""

    pdf: bytes
    contents: Contents


def make_pack(
    actor: Actor,
    programme_id: UUID,
    options: PackOptions,
    *,
    now: datetime,
    each: Callable[[], object] = lambda: None,
) -> MadePack:
    """Return a stay's pack, and write down which figures went out. Who may: whoever may write. Raises NotFound.

    Typeset outside of any transaction: only the audit row is written in one.
    """
    actor.require_write()
    facts = gather_pack(actor, programme_id, now=now)
    each()
    contents = write_contents(facts, options)
    each()
    pdf = typeset(contents.data)
    with transaction.atomic():
        shown = {one.key: one.shown for one in contents.figures.found.values()}
        audit(
            actor, ACTION, str(programme_id), now=now,
            language=options.language.value, paper=options.paper.value, figures=shown,
        )  # fmt: skip
    each()
    return MadePack(pdf, contents)
