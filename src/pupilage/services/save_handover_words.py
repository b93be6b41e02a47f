"""What a trainer writes for the family: the release word, the rules of the house, a note."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import InvalidInput, Problem
from pupilage.services.auditing import audit
from pupilage.services.read_programme import ProgrammeHead, head_of
from pupilage.storage.models import HandoverWords
from pupilage.storage.queries.programmes import programme_readable_by, programme_writable_by

MOST_RELEASE, MOST_RULES, MOST_RULE, MOST_NOTE = 40, 12, 200, 100_000
"""Letters of the release word, rules, letters of a rule, letters of the note."""


@dataclass(frozen=True)
class FamilyWords:
    """release_word: "" for none yet; house_rules: a line each, "" for the usual ones; note: of any length."""

    release_word: str = ""
    house_rules: str = ""
    note: str = ""


@dataclass(frozen=True)
class PackPage:
    """What the page of the pack shows. n_goals: behaviours that get a section."""

    head: ProgrammeHead
    words: FamilyWords
    n_goals: int


def read_pack_page(actor: Actor, programme_id: UUID, *, now: datetime) -> PackPage:
    """Return the page of a stay's pack. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    row = HandoverWords.objects.filter(programme=programme).first()
    words = FamilyWords() if row is None else FamilyWords(row.release_word, row.house_rules, row.note)
    return PackPage(head_of(actor, programme, now=now), words, programme.goals.filter(dropped_at=None).count())


def save_handover_words(actor: Actor, programme_id: UUID, words: FamilyWords, *, now: datetime) -> None:
    """Write a stay's words for the family. Who may: whoever may write. Idempotent; raises InvalidInput, NotFound."""
    programme = programme_writable_by(actor, programme_id)
    problems = word_problems(words)
    if problems:
        raise InvalidInput(problems)
    with transaction.atomic():
        HandoverWords.objects.update_or_create(
            programme=programme,
            defaults={
                "workspace_id": actor.workspace_id,
                "release_word": words.release_word.strip(),
                "house_rules": words.house_rules,
                "note": words.note,
            },
        )
        audit(actor, "save-handover-words", str(programme.id), now=now)


def word_problems(words: FamilyWords) -> list[Problem]:
    """Return everything that is too long to print."""
    rules = [line for line in words.house_rules.splitlines() if line.strip()]
    found = []
    if len(words.release_word.strip()) > MOST_RELEASE:
        found.append(Problem("release_word", "A release word has {most} letters at most.", most=MOST_RELEASE))
    if len(rules) > MOST_RULES:
        found.append(Problem("house_rules", "The page for the fridge holds {most} rules at most.", most=MOST_RULES))
    if any(len(line) > MOST_RULE for line in rules):
        found.append(Problem("house_rules", "A rule has {most} letters at most; make two of it.", most=MOST_RULE))
    if len(words.note) > MOST_NOTE:
        found.append(Problem("note", "The note has {most} letters at most.", most=MOST_NOTE))
    return found
