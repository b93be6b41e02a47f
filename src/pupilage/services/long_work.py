"""Long work beside the pages, reading a recording or learning a voice: taken by one worker, told of, taken over.

A worker says every second that it is alive. What one that fell silent had, as after a power cut, waits again; what a
worker of the same name had is taken over at once, since only one of a name lives. Whoever loses its work, because it
was called off, deleted or asked for anew, notices when it next says so, and keeps nothing.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.db.models import Q, QuerySet

from pupilage.core.errors import InvalidInput, PupilageError
from pupilage.core.recordings.reading import LearningState, ReadingState
from pupilage.core.words import Sentence
from pupilage.storage.models import AuditEntry, Recording, Voice
from pupilage.storage.reader_process import wake_reader
from pupilage.storage.troubles import explain

SILENT_AFTER = timedelta(seconds=60)
TOLD_EVERY = timedelta(seconds=1)

Told = Callable[[float], None]
"""Takes how much is done, 0 to 1. Raises Unwanted when nobody wants the rest."""

Clock = Callable[[], datetime]
Row = TypeVar("Row", Recording, Voice)


class Unwanted(Exception):
    """The work is not wanted any more, or another worker has it."""


@dataclass(frozen=True)
class Queue(Generic[Row]):
    """One kind of long work. state: the field that says how far a row is, and its values; asked: who came first."""

    model: type[Row]
    state: str
    waiting: str
    running: str
    failed: str
    asked: str

    def waits(self, now: datetime, worker: str = "") -> QuerySet[Row]:
        """Return what a worker may take: what waits, what a silent one had, and what the worker had before it died."""
        dead = Q(alive_at__lt=now - SILENT_AFTER) | Q(alive_at=None)
        if worker:
            dead |= Q(worker=worker)
        return self.model.objects.filter(Q(**{self.state: self.waiting}) | Q(**{self.state: self.running}) & dead)

    def is_left(self) -> bool:
        """Return whether anything waits or is being done, if only by a worker that may have died."""
        return self.model.objects.filter(**{f"{self.state}__in": (self.waiting, self.running)}).exists()

    def take(self, worker: str, clock: Clock, *, only: UUID | None, shown: Told | None) -> "Job[Row] | None":
        """Take what waits longest, or `only` that one; None where nothing waits."""
        now = clock()
        free = self.waits(now, worker) if only is None else self.waits(now, worker).filter(id=only)
        taken = {self.state: self.running, "worker": worker, "alive_at": now, "progress": 0, "failure": None}
        for row_id in list(free.order_by(self.asked).values_list("id", flat=True)):
            if free.filter(id=row_id).update(**taken):
                return Job(self, self.model.objects.get(id=row_id), worker, clock, shown)
        return None


@dataclass
class Job(Generic[Row]):
    """One piece of long work in one worker's hands: keeps its progress fresh, and notices that it is not wanted."""

    queue: Queue[Row]
    row: Row
    worker: str
    clock: Clock
    shown: Told | None
    said_at: datetime | None = None

    def told(self, share: float) -> None:
        """Write down how much is done, once a second. Raises Unwanted."""
        if self.shown is not None:
            self.shown(share)
        now = self.clock()
        if self.said_at is None or now - self.said_at >= TOLD_EVERY:
            self.said_at = now
            self.put(progress=min(max(share, 0.0), 1.0), alive_at=now)

    def part(self, first: float, last: float) -> Told:
        """Return what takes how much of one part is done; the part lies between these shares of the whole."""
        return lambda share: self.told(first + (last - first) * share)

    def put(self, **values: Any) -> None:
        """Write values into the row. Raises Unwanted where it is not in this worker's hands any more."""
        if not self._own().update(**values):
            raise Unwanted

    def require_wanted(self) -> None:
        """Raise Unwanted where it is not in this worker's hands any more."""
        if not self._own().exists():
            raise Unwanted

    def fail(self, error: BaseException, name: str) -> None:
        """Write down, as a sentence, what went wrong with what is called `name`. Raises Unwanted."""
        failed = {self.queue.state: self.queue.failed, "failure": _told_of(error, name)}
        self.put(**failed, alive_at=self.clock())

    def audit(self, action: str, **detail: int) -> None:
        """Write into the audit log what was done with the row."""
        AuditEntry.objects.create(
            workspace_id=self.row.workspace_id,
            action=action,
            subject=str(self.row.id),
            detail=detail,
            at=self.clock(),
        )

    def _own(self) -> QuerySet[Row]:
        mine = {self.queue.state: self.queue.running, "worker": self.worker}
        return self.queue.model.objects.filter(id=self.row.id, **mine)


RECORDINGS = Queue(
    Recording, "state", ReadingState.WAITING, ReadingState.READING, ReadingState.FAILED, asked="added_at"
)
VOICES = Queue(Voice, "learning", LearningState.WAITING, LearningState.LEARNING, LearningState.FAILED, asked="asked_at")


def is_work_left() -> bool:
    """Return whether a recording or a voice waits for a worker, or was in the hands of one that may have died.

    Who may: the command line on the machine itself.
    """
    return RECORDINGS.is_left() or VOICES.is_left()


def wake_for_what_is_left() -> None:
    """Start the reader where something waits, or was being done when the machine went down.

    Who may: the command line on the machine itself.
    """
    if is_work_left():
        wake_reader()


def _told_of(error: BaseException, name: str) -> list[Any]:
    """Return what went wrong as a sentence that a row keeps: [template, figures].

    name: what was being read, as its person knows it; the file on the disk is called otherwise.
    """
    refusal = error if isinstance(error, PupilageError) else explain(error, name)
    if refusal is None:
        said = Sentence(
            "The machine ran out of memory at “{file}”; close other programs and read it again.",
            {"file": name},
        )
    elif isinstance(refusal, InvalidInput) and refusal.problems:
        said = refusal.problems[0].sentence  # its own sentence holds them untranslated
    else:
        said = refusal.sentence
    return [said.template, {key: name if key == "name" else value for key, value in said.figures.items()}]
