"""The family's lesson: their tries beside the trainer's, agreement on what was seen, and what they did themselves."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.errors import InvalidInput, NotFound
from pupilage.core.evaluation.agreement import TrialAgreement
from pupilage.core.evaluation.comparison import Terms, compare_codings
from pupilage.core.evaluation.talking_over import say_kappa
from pupilage.core.handover.lesson import Carried, carry_over, propose_items
from pupilage.core.training.record.evidence import Outcome
from pupilage.core.training.record.fold import fold_session
from pupilage.core.words import Sentence
from pupilage.services.auditing import audit
from pupilage.services.compare_codings import log_coding
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Coding as CodingRow
from pupilage.storage.models import FamilyPage, LessonItem, Programme, Trial
from pupilage.storage.queries.codings import list_session_codings
from pupilage.storage.queries.family import page_of
from pupilage.storage.queries.programmes import list_goals, programme_readable_by, programme_writable_by
from pupilage.storage.queries.sessions import list_events, list_session_names, sessions_readable_by

MOST_ITEM = 200
MOST_WHO = 80
MOST_ITEMS = 60
MOST_SESSIONS = 12
"""Of the sessions that two people scored, the newest so many are compared."""


@dataclass(frozen=True)
class CarriedLine:
    """A step of a behaviour with the family beside the trainer."""

    behaviour: Behaviour
    step: str
    carried: Carried


@dataclass(frozen=True)
class ScoredTwice:
    """A session that the log and another person scored. matched: None where no try is in both; says: of kappa."""

    session_id: UUID
    behaviour: Behaviour | None
    at: datetime
    observer: str
    n_tries: int
    matched: TrialAgreement | None
    says: tuple[Sentence, ...]


@dataclass(frozen=True)
class Item:
    """Something to tick. key: of a proposed one; id: of one in the trainer's words; words: None for its own text."""

    key: str
    id: UUID | None
    proposed: Sentence | None
    words: str
    ticked_at: datetime | None
    ticked_by: str

    @property
    def is_done(self) -> bool:
        """Whether it was ticked."""
        return self.ticked_at is not None


@dataclass(frozen=True)
class LessonPage:
    """What the page shows. handlers: every name in the stay's sessions, and whether it is one of the family's."""

    head: ProgrammeHead
    handlers: tuple[tuple[str, bool], ...]
    lines: tuple[CarriedLine, ...]
    scored: tuple[ScoredTwice, ...]
    items: tuple[Item, ...]
    n_left_out: int

    @property
    def n_ticked(self) -> int:
        """How many were done."""
        return sum(one.is_done for one in self.items)

    @property
    def by_done(self) -> list[Item]:
        """The list with what is still to do before what was done."""
        return sorted(self.items, key=lambda one: one.is_done)

    @property
    def last_by(self) -> str:
        """Who did the newest of them, "" for nobody yet: what the page proposes for the next."""
        done = [(one.ticked_at, one.ticked_by) for one in self.items if one.ticked_at is not None]
        return max(done, key=lambda one: one[0])[1] if done else ""


@dataclass(frozen=True)
class Tick:
    """A change of one item: by its key, its id, or with words for a new one."""

    key: str = ""
    item_id: UUID | None = None
    words: str = ""
    by: str = ""
    done: bool | None = None
    left_out: bool | None = None


def read_lesson(actor: Actor, programme_id: UUID, *, now: datetime) -> LessonPage:
    """Return the page of a stay's lesson. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    names = list(dict.fromkeys(name for name, _ in list_session_names(programme) if name))
    family = family_handlers(programme, names)
    items, n_left_out = _items(programme)
    return LessonPage(
        head=head_of(actor, programme, now=now),
        handlers=tuple((name, name in family) for name in names),
        lines=_lines(programme, family),
        scored=_scored(actor, programme),
        items=items,
        n_left_out=n_left_out,
    )


def family_handlers(programme: Programme, names: list[str]) -> set[str]:
    """Return the names in sessions that are the family's: those that the trainer said, every name until then."""
    said = page_of(programme).handlers
    return set(names) if said is None else {name for name in names if name in said}


def say_who_is_family(actor: Actor, programme_id: UUID, names: list[str], *, now: datetime) -> None:
    """Write which names in sessions are the family's. Idempotent. Who may: whoever may write."""
    programme = programme_writable_by(actor, programme_id)
    known = {name for name, _ in list_session_names(programme)}
    with transaction.atomic():
        FamilyPage.objects.update_or_create(
            programme=programme,
            defaults={"workspace_id": actor.workspace_id, "handlers": [name for name in names if name in known]},
        )
        audit(actor, "say-who-is-family", str(programme.id), now=now)


def change_lesson_item(actor: Actor, programme_id: UUID, tick: Tick, *, now: datetime) -> None:
    """Tick an item, take the tick off, leave the item out or bring it back, or write a new one. Who may: a writer.

    Raises InvalidInput for an item without words or too many, NotFound for an unknown one.
    """
    programme = programme_writable_by(actor, programme_id)
    row = _row_of(programme, tick, now)
    if tick.done is not None:
        row.ticked_at = (row.ticked_at or now) if tick.done else None
        row.ticked_by = tick.by.strip()[:MOST_WHO] if tick.done else ""
    if tick.left_out is not None:
        row.left_out = tick.left_out
    with transaction.atomic():
        row.save()
        audit(actor, "change-lesson-item", row.key or str(row.id), now=now, done=row.ticked_at is not None)


def _row_of(programme: Programme, tick: Tick, now: datetime) -> LessonItem:
    rows = LessonItem.objects.filter(workspace_id=programme.workspace_id, programme=programme)
    if tick.item_id is not None or tick.key:
        found = rows.filter(id=tick.item_id) if tick.item_id is not None else rows.filter(key=tick.key)
        row = found.first()
        if row is None and (tick.item_id is not None or tick.key not in dict(_proposed(programme))):
            raise NotFound("There is no such line in this list; open the page again.")
        return row or LessonItem(workspace_id=programme.workspace_id, programme=programme, key=tick.key, made_at=now)
    words = tick.words.strip()
    if not words or len(words) > MOST_ITEM:
        raise InvalidInput.of("words", "Write what they should do themselves, in 1 to {most} letters.", most=MOST_ITEM)
    if rows.count() >= MOST_ITEMS:
        raise InvalidInput.of("words", "{most} lines are enough for one lesson.", most=MOST_ITEMS)
    return LessonItem(workspace_id=programme.workspace_id, programme=programme, words=words, made_at=now)


def _proposed(programme: Programme) -> list[tuple[str, Sentence]]:
    catalogue = load_catalogue()
    goals = [catalogue.find_behaviour(goal.behaviour) for goal in list_goals(programme)]
    return propose_items([(one.key, one.name) for one in goals if one is not None])


def _items(programme: Programme) -> tuple[tuple[Item, ...], int]:
    rows = list(LessonItem.objects.filter(workspace_id=programme.workspace_id, programme=programme).order_by("made_at"))
    by_key = {row.key: row for row in rows if row.key}
    found = []
    for key, words in _proposed(programme):
        row = by_key.pop(key, None) or LessonItem(key=key)
        if not row.left_out:
            found.append(Item(key, None, words, "", row.ticked_at, row.ticked_by))
    own = [row for row in rows if not row.key and not row.left_out]
    found += [Item("", row.id, None, row.words, row.ticked_at, row.ticked_by) for row in own]
    # what was ticked before its goal was dropped has been done all the same
    dropped = [row for row in by_key.values() if row.ticked_at is not None and not row.left_out]
    found += [Item(row.key, None, _dropped_words(row.key), row.key, row.ticked_at, row.ticked_by) for row in dropped]
    return tuple(found), sum(row.left_out for row in rows)


def _dropped_words(key: str) -> Sentence | None:
    """Return what a line said whose goal is no more, None for a behaviour that the catalogue no longer has."""
    behaviour = load_catalogue().find_behaviour(key.partition(":")[2])
    return None if behaviour is None else propose_items([(behaviour.key, behaviour.name)])[0][1]


def _lines(programme: Programme, family: set[str]) -> tuple[CarriedLine, ...]:
    rows = Trial.objects.filter(workspace_id=programme.workspace_id, programme=programme).order_by("at", "id")
    sides: dict[tuple[str, str], tuple[list[Outcome], list[Outcome]]] = defaultdict(lambda: ([], []))
    for behaviour, step, outcome, handler in rows.values_list("behaviour", "step", "outcome", "session__handler"):
        if handler in family or not handler:
            sides[behaviour, step][0 if handler else 1].append(Outcome(outcome))
    catalogue = load_catalogue()
    found = []
    for (key, step_key), (theirs, own) in sides.items():
        known = catalogue.find_behaviour(key)
        tried = None if known is None else known.step(step_key)
        if theirs and known is not None and tried is not None:
            found.append(CarriedLine(known, tried.summary, carry_over(key, step_key, theirs, own)))
    return tuple(found)


def _scored(actor: Actor, programme: Programme) -> tuple[ScoredTwice, ...]:
    """Return the sessions that somebody else scored too, the newest first, each against its own log."""
    coded = CodingRow.objects.filter(workspace_id=actor.workspace_id, session__programme=programme).values("session_id")
    found = []
    for session in sessions_readable_by(actor).filter(id__in=coded)[:MOST_SESSIONS]:
        record = fold_session(list_events(actor, session.id))
        if record is None:
            continue
        log = log_coding(record, "")
        for kept in list_session_codings(session):
            compared = compare_codings(log, kept.coding, Terms())
            found.append(
                ScoredTwice(
                    session.id,
                    load_catalogue().find_behaviour(session.behaviour),
                    session.started_at,
                    kept.coding.observer,
                    len(record.trials),
                    compared.matched,
                    tuple(say_kappa(compared)),
                )
            )
    return tuple(found)
