"""What a family wrote down, in words: for their own page and for the trainer's."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.utils.formats import date_format
from django.utils.timezone import localtime

from pupilage.core.handover.family_log import Entry, EntryKind, OutingWord
from pupilage.core.words import sentence
from pupilage.reports.family.tongue import FamilyTongue
from pupilage.storage.catalogue_files import load_catalogue

OUTINGS = {OutingWord.DONE: sentence("Outside, done"), OutingWord.ACCIDENT: sentence("Accident indoors")}
WORKED = {True: sentence("It worked"), False: sentence("It did not")}
CALL = sentence("Please call us")


@dataclass(frozen=True)
class Row:
    """An entry on the page. at: the moment; when: as it is written."""

    id: str
    at: datetime
    when: str
    words: str
    note: str


def own_rows(t: FamilyTongue, entries: Iterable[Entry]) -> list[Row]:
    """Return a family's entries in its language."""
    return [entry_row(t, one) for one in entries]


def entry_row(t: FamilyTongue, entry: Entry) -> Row:
    """Return one entry in a language, at the local time."""
    return Row(entry.id, entry.at, date_format(localtime(entry.at), "j M H:i"), _words(t, entry), entry.note)


def _words(t: FamilyTongue, entry: Entry) -> str:
    catalogue = load_catalogue()
    match entry.kind:
        case EntryKind.OUTING:
            return t.said(OUTINGS[OutingWord(entry.subject)])
        case EntryKind.INCIDENT:
            unwanted = catalogue.find_unwanted(entry.subject)
            return t.text(unwanted.name) if unwanted else entry.subject
        case EntryKind.CUE:
            behaviour = catalogue.find_behaviour(entry.subject)
            name = t.text(behaviour.name) if behaviour else entry.subject
            return f"{name}: {t.said(WORKED[bool(entry.met)])}"
    return t.said(CALL)
