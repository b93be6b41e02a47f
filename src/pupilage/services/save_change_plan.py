"""Writing a plan against an unwanted behaviour: made, changed, ended, or taken back."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import QuerySet

from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, InvalidInput, NotFound, Problem
from pupilage.core.incidents.phases import PhaseKind
from pupilage.services.auditing import audit
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import ChangePlan, Dog, Programme
from pupilage.storage.queries.dogs import dog_writable_by

MOST_LINES = 20
MOST_LETTERS = 300


@dataclass(frozen=True)
class ChangePlanEntry:
    """What is done from a day on; see `phases.PlanPhase`. plan_id: chosen by the device: written twice, stored once."""

    behaviour: str
    starts_on: date
    kind: PhaseKind = PhaseKind.PLAN
    arrange: tuple[str, ...] = ()
    replacement: str = ""
    gain_stops: bool = False
    note: str = ""
    plan_id: UUID | None = None


def save_change_plan(actor: Actor, dog_id: UUID, entry: ChangePlanEntry, *, now: datetime) -> UUID:
    """Write a phase and return its id. Who may: whoever may write. Idempotent by plan_id.

    A phase that begins on the day of another takes that one back; both stay stored. Raises InvalidInput, with all
    problems at once, for an unknown behaviour or replacement, a day outside the stay, a plan that arranges and teaches
    nothing, or an end with nothing to end; Conflict for a plan_id that stands for another dog's or behaviour's plan.
    """
    dog = dog_writable_by(actor, dog_id)
    entry_id = entry.plan_id or uuid4()
    with transaction.atomic():
        known = ChangePlan.objects.filter(workspace_id=actor.workspace_id, id=entry_id).first()
        if known is not None:
            if (known.dog_id, known.behaviour) != (dog.id, entry.behaviour):
                raise Conflict("This plan's id belongs to another plan; load the page again.")
            return known.id
        problems = list(_problems(dog, entry))
        if problems:
            raise InvalidInput(problems)
        _standing(dog, entry.behaviour).filter(starts_on=entry.starts_on).update(taken_back_at=now)
        ChangePlan.objects.create(
            id=entry_id,
            workspace_id=actor.workspace_id,
            dog=dog,
            behaviour=entry.behaviour,
            starts_on=entry.starts_on,
            kind=entry.kind.value,
            arrange=list(_lines(entry)),
            replacement=entry.replacement,
            gain_stops=entry.gain_stops,
            note=entry.note,
            written_at=now,
        )
        audit(actor, "save-change-plan", str(entry_id), now=now, behaviour=entry.behaviour, kind=entry.kind.value)
    return entry_id


def take_change_plan_back(actor: Actor, plan_id: UUID, *, now: datetime) -> tuple[UUID, str]:
    """Take a phase out of every reading; the row stays. Returns the dog's id and the behaviour. Idempotent."""
    actor.require_write()
    row = ChangePlan.objects.filter(workspace_id=actor.workspace_id, id=plan_id).first()
    if row is None:
        raise NotFound("There is no such plan; it may have been written in another workspace.")
    with transaction.atomic():
        if ChangePlan.objects.filter(id=row.id, taken_back_at=None).update(taken_back_at=now):
            audit(actor, "take-change-plan-back", str(row.id), now=now)
    return row.dog_id, row.behaviour


def _standing(dog: Dog, behaviour: str) -> QuerySet[ChangePlan]:
    return ChangePlan.objects.filter(dog=dog, behaviour=behaviour, taken_back_at=None)


def _lines(entry: ChangePlanEntry) -> tuple[str, ...]:
    """Return what is arranged, each line once, none empty."""
    return tuple(dict.fromkeys(line.strip() for line in entry.arrange if line.strip()))


def _problems(dog: Dog, entry: ChangePlanEntry) -> Iterator[Problem]:
    catalogue, lines = load_catalogue(), _lines(entry)
    if catalogue.find_unwanted(entry.behaviour) is None:
        yield Problem("behaviour", "“{key}” is not among the unwanted behaviours; choose one.", key=entry.behaviour)
    if entry.replacement and catalogue.find_behaviour(entry.replacement) is None:
        yield Problem("replacement", "“{key}” is not in the catalogue; choose one from it.", key=entry.replacement)
    if entry.kind is PhaseKind.PLAN and not lines and not entry.replacement:
        yield Problem("arrange", "Nothing is arranged and nothing taught instead; tick or write at least one.")
    if len(lines) > MOST_LINES:
        yield Problem(
            "arrange", "{n} lines are more than {most}; keep those that matter.", n=len(lines), most=MOST_LINES
        )
    for line in lines:
        if len(line) > MOST_LETTERS:
            yield Problem(
                "arrange", "A line has {n} letters, more than {most}; shorten it.", n=len(line), most=MOST_LETTERS
            )
    yield from _problems_of_day(dog, entry)


def _problems_of_day(dog: Dog, entry: ChangePlanEntry) -> Iterator[Problem]:
    stay = Programme.objects.filter(dog=dog).order_by("arrival_on")
    first, last = stay.first(), stay.order_by("-handover_on").first()
    if first is not None and entry.starts_on < first.arrival_on:
        yield Problem(
            "starts_on", "The pup came on {day}; a plan here begins then or later.", day=first.arrival_on.isoformat()
        )
    if last is not None and entry.starts_on > last.handover_on:
        yield Problem(
            "starts_on",
            "The pup leaves on {day}; a plan that begins later belongs into what the family is given.",
            day=last.handover_on.isoformat(),
        )
    if entry.kind is PhaseKind.ENDED and not _has_plan_before(dog, entry):
        yield Problem("starts_on", "No plan has begun before {day}: there is nothing to end.", day=str(entry.starts_on))


def _has_plan_before(dog: Dog, entry: ChangePlanEntry) -> bool:
    last = _standing(dog, entry.behaviour).filter(starts_on__lt=entry.starts_on).order_by("-starts_on").first()
    return last is not None and last.kind == PhaseKind.PLAN.value
