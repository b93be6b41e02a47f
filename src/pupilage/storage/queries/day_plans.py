"""Timetables, appointments and day preferences, as core's types."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from pupilage.core.catalogue.behaviour import Place
from pupilage.core.planning.day.blocks import Block, BlockKind, BlockState, BrokenRule, DayPlan, Solution
from pupilage.core.planning.day.preferences import DayPreferences, read_preferences
from pupilage.core.planning.planned_session import PlannedSession, Purpose
from pupilage.core.words import Sentence
from pupilage.storage.models import Appointment, Programme
from pupilage.storage.models import DayPlan as PlanRow
from pupilage.storage.models import DayPreferences as PreferencesRow

AFTERWARDS = "afterwards"

_PLAN = ("day", "version", "fits_version", "made_at", "status", "gap", "seconds", "broken", "trouble")
_BLOCK = tuple(
    f"blocks__{name}"
    for name in ("key", "kind", "starts_at", "ends_at", "state", "detail", "sequence", "changed_at", "care_event")
)


@dataclass(frozen=True)
class StoredBlock:
    """A block with what a calendar needs to know of its changes. sequence rises whenever it changes.

    afterwards: it was over when it was written first, so that nobody ever followed it.
    """

    block: Block
    sequence: int
    changed_at: datetime
    care_event: str = ""
    afterwards: bool = False


@dataclass(frozen=True)
class StoredPlan:
    """A day's timetable as it stands. version: of the row; is_stale: something has happened since it was made.

    trouble: why the newest attempt gave no plan, a sentence each.
    """

    plan: DayPlan
    blocks: tuple[StoredBlock, ...]
    version: int
    is_stale: bool
    made_at: datetime | None
    trouble: tuple[Sentence, ...] = ()

    @property
    def shown(self) -> tuple[StoredBlock, ...]:
        """The blocks that people are shown: not those that were over before the first timetable of the day was made.

        The solver needs them all the same: which meals were given by then, how much play there was.
        """
        return tuple(one for one in self.blocks if one.block.state is not BlockState.PLANNED or not one.afterwards)


def find_stored_plan(programme: Programme, day: date) -> StoredPlan | None:
    """Return a day's timetable with its blocks in time order, or None before the first was made. One query."""
    rows = PlanRow.objects.filter(programme=programme, day=day, workspace_id=programme.workspace_id)
    found = list(rows.order_by("blocks__starts_at", "blocks__ends_at", "blocks__key").values(*_PLAN, *_BLOCK))
    if not found:
        return None
    row = found[0]
    stored = tuple(_stored_block(one) for one in found if one["blocks__key"] is not None)
    return StoredPlan(
        plan=DayPlan(
            day=row["day"],
            blocks=tuple(one.block for one in stored),
            broken=tuple(_broken(one) for one in row["broken"]),
            solution=Solution(row["status"], row["gap"], row["seconds"]),
        ),
        blocks=stored,
        version=row["version"],
        is_stale=row["version"] != row["fits_version"],
        made_at=row["made_at"],
        trouble=tuple(sentence_of(one) for one in row["trouble"]),
    )


def preferences_of(programme: Programme) -> DayPreferences:
    """Return how the days of a stay usually run; as shipped before anybody chose. One query."""
    chosen = PreferencesRow.objects.filter(programme=programme).values_list("chosen", flat=True).first()
    return read_preferences(chosen or {})


def list_appointments(programme: Programme, *, since: datetime, until: datetime) -> list[Appointment]:
    """Return the appointments that reach into a stretch of time, the earliest first. One query."""
    rows = Appointment.objects.filter(
        programme=programme,
        workspace_id=programme.workspace_id,
        deleted_at=None,
        ends_at__gt=since,
        starts_at__lt=until,
    )
    return list(rows.order_by("starts_at", "ends_at", "id"))


def detail_of(block: Block) -> dict[str, Any]:
    """Return what a block holds beside its time and state, in JSON's types."""
    detail: dict[str, Any] = {
        "reason": None if block.reason is None else sentence_json(block.reason),
        "session": None if block.session is None else asdict(block.session),
        "bowl_g": block.bowl_g,
        "pouch_g": block.pouch_g,
        "words": block.words,
    }
    return {name: value for name, value in detail.items() if value not in (None, "")}


def broken_json(broken: BrokenRule) -> dict[str, Any]:
    """Return a broken rule in JSON's types."""
    return {**asdict(broken), "reason": sentence_json(broken.reason)}


def sentence_json(sentence: Sentence) -> dict[str, Any]:
    """Return a sentence in JSON's types: it is translated when it is read."""
    return {"template": sentence.template, "figures": dict(sentence.figures)}


def sentence_of(stored: Mapping[str, Any]) -> Sentence:
    """Return what `sentence_json` wrote."""
    return Sentence(stored["template"], stored["figures"])


def _stored_block(row: Mapping[str, Any]) -> StoredBlock:
    detail = row["blocks__detail"]
    block = Block(
        key=row["blocks__key"],
        kind=BlockKind(row["blocks__kind"]),
        start=row["blocks__starts_at"],
        end=row["blocks__ends_at"],
        state=BlockState(row["blocks__state"]),
        reason=sentence_of(detail["reason"]) if "reason" in detail else None,
        session=_session(detail["session"]) if "session" in detail else None,
        bowl_g=detail.get("bowl_g"),
        pouch_g=detail.get("pouch_g"),
        words=detail.get("words", ""),
    )
    return StoredBlock(
        block,
        sequence=row["blocks__sequence"],
        changed_at=row["blocks__changed_at"],
        care_event=str(row["blocks__care_event"] or ""),
        afterwards=detail.get(AFTERWARDS, False),
    )


def _session(stored: Mapping[str, Any]) -> PlannedSession:
    words = {**stored, "purpose": Purpose(stored["purpose"]), "place": Place(stored["place"])}
    return PlannedSession(**words)


def _broken(stored: Mapping[str, Any]) -> BrokenRule:
    return BrokenRule(**{**stored, "reason": sentence_of(stored["reason"])})


def list_whole_days(programme: Programme) -> list[datetime]:
    """Return when each appointment that takes a whole day begins. One query."""
    rows = Appointment.objects.filter(programme=programme, whole_day=True, deleted_at=None)
    return list(rows.order_by("starts_at").values_list("starts_at", flat=True))
