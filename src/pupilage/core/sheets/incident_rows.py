"""Rows of a sheet as incidents: each judged by itself, all that is wrong with it said."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date, datetime, timedelta, tzinfo
from enum import StrEnum
from typing import TypeVar
from uuid import UUID, uuid5

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.clock import day_bounds, require_aware
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.incidents.between_dogs import Answered, Apart, BetweenDogs, Resource, Who, between_as_stored
from pupilage.core.incidents.context import Context
from pupilage.core.incidents.gains import Gain
from pupilage.core.incidents.record import Before, Incident
from pupilage.core.incidents.teeth import Teeth
from pupilage.core.sheets.cells import DateOrder, depends_on_order, read_count, read_day, read_time, split_moment
from pupilage.core.sheets.moments import at_wall_clock
from pupilage.core.sheets.rows import BadRow
from pupilage.core.sheets.text import Table
from pupilage.core.words import Figure, Sentence

CONTEXT = tuple(field.name for field in fields(Context))
BETWEEN = {
    "started": Who, "resource": Resource, "apart": Apart, "answered": Answered, "ended": Who, "dog_teeth": Teeth,
    "hurt": Who,
}  # fmt: skip
"""What was seen between two dogs; “teeth” alone is taken, by those on people's skin."""

COLUMNS = (
    "id", "at", "behaviour", "left_it", "near_miss", "before", "gained", "supervised", "slip", "teeth", "place",
    "antecedent", "consequence", "people_did", "note", "in_charge", *CONTEXT, *BETWEEN,
)  # fmt: skip
"""As `pupilage incidents --csv` writes them."""

NEEDED = ("at", "behaviour")
TEXTS = {"place": 120, "antecedent": 1000, "consequence": 1000, "people_did": 1000, "note": 1000, "in_charge": 120}
"""Letters that a text may have, as on the page."""

YES, NO = ("true", "yes", "y", "1", "x"), ("false", "no", "n", "0")
CLOCK_SLACK = timedelta(minutes=2)

_Key = TypeVar("_Key", bound=StrEnum)


@dataclass(frozen=True)
class IncidentRow:
    """A row that was read: its number in the sheet, the incident (its id "" where the row gives none), and what was
    assumed of its time, if anything."""

    number: int
    incident: Incident
    note: Sentence | None = None


@dataclass(frozen=True)
class IncidentReading:
    """A sheet that was read: its good rows and its bad ones."""

    rows: tuple[IncidentRow, ...]
    bad: tuple[BadRow, ...]


@dataclass(frozen=True)
class IncidentPeriod:
    """When an incident can have been: from the day on which the pup came (None: not known) to now (aware)."""

    arrival_on: date | None
    zone: tzinfo
    now: datetime


def read_incident_rows(table: Table, *, catalogue: Catalogue, period: IncidentPeriod) -> IncidentReading:
    """Return what the rows of a table say.

    Times are as written with an offset, else the wall clock of the zone; empty cells are what the page assumes.
    Raises InvalidInput for a header with unknown, doubled or missing columns: nobody's cells are left out unsaid.
    """
    places = _find_places(table.header)
    rows: list[IncidentRow] = []
    bad: list[BadRow] = []
    for number, cells in table.rows:
        row = {name: cells[place] if place < len(cells) else "" for name, place in places.items()}
        reader = _RowReader({name: row.get(name, "") for name in COLUMNS}, catalogue, period)
        incident, note = reader.read(n_extra=sum(1 for cell in cells[len(table.header) :] if cell))
        if incident is None:
            bad.append(BadRow(number, tuple(reader.problems)))
        else:
            rows.append(IncidentRow(number, incident, note))
    return IncidentReading(tuple(rows), tuple(bad))


def content_id(incident: Incident, within: UUID) -> UUID:
    """Return an id that only an incident of the same content has: a row imported twice is one incident.

    What the tool fills in by itself (whose watch it was, what the log knew) is not of the content.
    """
    texts = [getattr(incident, name).strip() for name in TEXTS if name != "in_charge"]
    parts = (
        require_aware(incident.at).isoformat(timespec="seconds"), incident.behaviour, incident.left_it,
        " ".join(sorted(incident.before)), incident.gained, incident.supervised, incident.slip, incident.teeth, *texts,
        incident.near_miss, *between_as_stored(incident.between).values(),
    )  # fmt: skip
    return uuid5(within, "\x1f".join("" if part is None else str(part) for part in parts))


def _find_places(header: tuple[str, ...]) -> dict[str, int]:
    names = [name.casefold().replace(" ", "_") for name in header]
    known = ", ".join(COLUMNS)
    problems = [
        Problem("header", "“{name}” is no column of incidents; the columns are {known}.", name=given, known=known)
        for given, name in zip(header, names, strict=True)
        if given and name not in COLUMNS
    ]
    problems += [
        Problem("header", "Two columns are called “{name}”; rename one of them.", name=name)
        for name in COLUMNS
        if names.count(name) > 1
    ]
    problems += [
        Problem("header", "The column “{name}” is missing; the columns are {known}.", name=name, known=known)
        for name in NEEDED
        if name not in names
    ]
    if problems:
        raise InvalidInput(problems)
    return {name: place for place, name in enumerate(names) if name}


class _RowReader:
    """Reads one row, and notes all that is wrong with it."""

    def __init__(self, row: Mapping[str, str], catalogue: Catalogue, period: IncidentPeriod) -> None:
        self.row = row
        self.catalogue = catalogue
        self.period = period
        self.problems: list[Problem] = []

    def read(self, *, n_extra: int) -> tuple[Incident | None, Sentence | None]:
        if n_extra:
            self._refuse("", "The row has more cells than the header; put a text with commas into quotes.")
        at, note = self._moment()
        incident_id = self._id()
        behaviour = self._behaviour()
        before = self._before()
        gained, teeth = self._one_of("gained", Gain), self._one_of("teeth", Teeth)
        left_it, slip = self._yes_or_no("left_it", assumed=False), self._yes_or_no("slip", assumed=False)
        near_miss = self._yes_or_no("near_miss", assumed=False)
        if left_it and near_miss:
            self._refuse("near_miss", "It left it by itself, or somebody was in time: write yes to one of the two.")
        supervised = self._yes_or_no("supervised", assumed=True)
        context = Context(**{name: self._minutes(name) for name in CONTEXT})
        between = self._between()
        texts = {name: self._text(name, most) for name, most in TEXTS.items()}
        if self.problems or at is None:
            return None, None
        incident = Incident(
            id=incident_id,
            behaviour=behaviour,
            at=at,
            supervised=supervised,
            before=before,
            gained=gained,
            left_it=left_it,
            slip=slip,
            teeth=teeth,
            near_miss=near_miss,
            context=None if context == Context() else context,
            between=between,
            **texts,
        )
        return incident, note

    def _refuse(self, where: str, template: str, **figures: Figure) -> None:
        self.problems.append(Problem(where, template, **figures))

    def _moment(self) -> tuple[datetime | None, Sentence | None]:
        word = self.row["at"]
        at, note = _read_instant(word), None
        if at is None:
            day_word, time_word = split_moment(word)
            day, time = read_day(day_word, DateOrder.DAY_FIRST), read_time(time_word)
            if day is None or time is None:
                self._refuse("at", "“{given}” is no day and time; write it like 2026-03-05 14:30.", given=word)
                return None, None
            if depends_on_order(day_word):
                self._refuse("at", "“{given}” may be day or month first; write it like 2026-03-05 14:30.", given=word)
                return None, None
            moment = at_wall_clock(datetime.combine(day, time), self.period.zone)
            at, note = moment.at, moment.note
        if at > self.period.now + CLOCK_SLACK:
            self._refuse("at", "{given} is in the future; check the day.", given=word)
        arrival = self.period.arrival_on
        if arrival is not None and at < day_bounds(arrival, self.period.zone)[0]:
            self._refuse(
                "at", "{given} is before the pup came on {day}; leave the row out.", given=word, day=arrival.isoformat()
            )
        return at, note

    def _id(self) -> str:
        word = self.row["id"]
        try:
            return str(UUID(word)) if word else ""
        except ValueError:
            self._refuse("id", "“{given}” is no id; leave the cell empty for a new incident.", given=word)
            return ""

    def _behaviour(self) -> str:
        word = self.row["behaviour"].casefold()
        for one in self.catalogue.unwanted.values():
            if word in (one.key.casefold(), one.name.casefold()):
                return one.key
        self._refuse(
            "behaviour",
            "“{given}” is not among the unwanted behaviours; they are {known}.",
            given=self.row["behaviour"],
            known=", ".join(self.catalogue.unwanted),
        )
        return ""

    def _before(self) -> tuple[Before, ...]:
        words = self.row["before"].casefold().replace(";", " ").replace(",", " ").split()
        for word in words:
            if word not in set(Before):
                self._refuse(
                    "before",
                    "“{given}” is no antecedent that is known; they are {known}, with spaces between. Anything else "
                    "goes into “antecedent”, in words.",
                    given=word,
                    known=", ".join(Before),
                )
        return tuple(before for before in Before if before in words)

    def _one_of(self, name: str, keys: type[_Key]) -> _Key | None:
        word = self.row[name].casefold()
        if not word or word in set(keys):
            return keys(word) if word else None
        self._refuse(name, "“{given}” is not known here; write {known}, or nothing.", given=word, known=", ".join(keys))
        return None

    def _minutes(self, name: str) -> int | None:
        word = self.row[name]
        minutes = read_count(word) if word else None
        if word and minutes is None:
            self._refuse(name, "“{given}” is no number of whole minutes; write 0 or more, or nothing.", given=word)
        return minutes

    def _between(self) -> BetweenDogs | None:
        seen = {name.removeprefix("dog_"): self._one_of(name, keys) for name, keys in BETWEEN.items()}
        try:
            between = BetweenDogs(**seen)  # type: ignore[arg-type]  # each column has its own keys, above
        except InvalidInput as error:
            self.problems += error.problems
            return None
        return None if between.is_empty else between

    def _yes_or_no(self, name: str, *, assumed: bool) -> bool:
        word = self.row[name].casefold()
        if word and word not in YES + NO:
            self._refuse(name, "“{given}” is neither yes nor no; write one of them, or nothing.", given=self.row[name])
        return word in YES if word else assumed

    def _text(self, name: str, most: int) -> str:
        text = self.row[name]
        if len(text) > most:
            self._refuse(name, "The text has {n} letters, more than {most}; shorten it.", n=len(text), most=most)
        return text


def _read_instant(word: str) -> datetime | None:
    """Return an instant that is written with its offset, else None."""
    try:
        at = datetime.fromisoformat(word)
    except ValueError:
        return None
    return None if at.tzinfo is None else require_aware(at)
