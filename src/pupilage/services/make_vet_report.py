"""The report for a veterinarian: gathered, written, typeset. Only its audit row is stored."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.vet_report.facts import Part, Period
from pupilage.reports.pack.options import PackOptions
from pupilage.reports.pack.typesetting import typeset
from pupilage.reports.vet_report.contents import ReportContents, write_report
from pupilage.services.auditing import audit
from pupilage.services.gather_vet_report import gather_vet_report

N_PARTS = 3
"""What `each` is called after: gathered, written, typeset."""

ACTION = "make-vet-report"


@dataclass(frozen=True)
class MadeReport:
    """A report: the bytes of its PDF, and what it says."""

    pdf: bytes
    contents: ReportContents


def make_vet_report(
    actor: Actor,
    dog_id: UUID,
    period: Period,
    options: PackOptions,
    *,
    left_out: frozenset[Part] = frozenset(),
    now: datetime,
    each: Callable[[], object] = lambda: None,
) -> MadeReport:
    """Return a dog's report, and write down that it went out. Who may: whoever may write. Raises NotFound.

    Typeset outside of any transaction: only the audit row is written in one.
    """
    actor.require_write()
    facts = gather_vet_report(actor, dog_id, period, left_out=left_out, now=now)
    each()
    contents = write_report(facts, options)
    each()
    pdf = typeset(contents.data, "record")
    with transaction.atomic():
        audit(
            actor, ACTION, str(dog_id), now=now, first=period.first.isoformat(), last=period.last.isoformat(),
            left_out=sorted(part.value for part in left_out), figures=contents.figures,
        )  # fmt: skip
    each()
    return MadeReport(pdf, contents)
