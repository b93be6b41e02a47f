"""From the cells of a sheet to what each row says of a trial; every bad row is found, with its reasons."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from uuid import UUID

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue
from pupilage.core.clock import local_day
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.sheets.cells import (
    OUTCOME_WORDS,
    DateOrder,
    depends_on_order,
    possible_orders,
    read_count,
    read_day,
    read_kind,
    read_number,
    read_outcome,
    read_time,
    read_yes_no,
    split_moment,
    unguarded,
)
from pupilage.core.sheets.columns import Column, find_columns
from pupilage.core.sheets.moments import Period, at_wall_clock
from pupilage.core.sheets.text import Table
from pupilage.core.training.criterion.judging import MAX_PIECES, MAX_SECONDS
from pupilage.core.training.record.evidence import Outcome, SessionKind

MAX_NAME = 80
"""Letters of a reinforcer, a place, a handler: as the log keeps them."""

NAMES = (Column.REINFORCER, Column.PLACE, Column.HANDLER)


@dataclass(frozen=True)
class SheetRow:
    """What one row says. `at`: the local time of day, None where the sheet gives none.

    held_s, target_s and broke are there for a hold only; broke is None where the sheet does not say whether the dog or
    the person ended it. `session` is the sheet's own word for the session; place and handler are the session's, and an
    empty one says nothing. trial_id: the trial's own, in a sheet that we wrote.
    """

    number: int
    day: date
    at: time | None
    behaviour: str
    step: str
    outcome: Outcome
    kind: SessionKind
    latency_s: float | None = None
    held_s: float | None = None
    target_s: float | None = None
    pieces: int = 0
    reinforcer: str = ""
    session: str = ""
    place: str = ""
    handler: str = ""
    broke: bool | None = None
    trial_id: UUID | None = None


@dataclass(frozen=True)
class BadRow:
    """A row that cannot be read, with everything that is wrong with it."""

    number: int
    problems: tuple[Problem, ...]


@dataclass(frozen=True)
class Reading:
    """A sheet that was read: its good rows, its bad rows, and the order its days are read in."""

    rows: tuple[SheetRow, ...]
    bad: tuple[BadRow, ...]


def read_rows(
    table: Table,
    *,
    catalogue: Catalogue,
    period: Period,
    columns: Mapping[str, str] | None = None,
    date_order: DateOrder | None = None,
) -> Reading:
    """Return what the rows of a table say.

    columns: {"outcome": "Got it?"} where a header is called otherwise; date_order: for days such as 3/5/2026.
    Raises InvalidInput for a missing column, and for days whose order cannot be told from the whole file.
    """
    places = find_columns(table.header, columns or {})
    cells = [(number, _by_column(row, places)) for number, row in table.rows]
    days = [split_moment(row[Column.DATE])[0] for _, row in cells]
    reader = _Reader(catalogue, period, date_order or _order_of(days))
    rows: list[SheetRow] = []
    bad: list[BadRow] = []
    for (number, row), (_, raw) in zip(cells, table.rows, strict=True):
        read = reader.read(number, row, n_extra=sum(1 for cell in raw[len(table.header) :] if cell))
        if isinstance(read, BadRow):
            bad.append(read)
        else:
            rows.append(read)
    return Reading(tuple(_with_times_carried_down(rows)), tuple(bad))


def _by_column(row: tuple[str, ...], places: Mapping[Column, int]) -> dict[Column, str]:
    return {column: row[places[column]] if column in places and places[column] < len(row) else "" for column in Column}


def _order_of(days: list[str]) -> DateOrder:
    orders = possible_orders(days)
    if len(orders) == 1:
        return orders.pop()
    example = next((day for day in days if depends_on_order(day)), None)
    if example is None:
        return DateOrder.DAY_FIRST  # every day reads the same in both orders
    if orders:
        raise InvalidInput.of(
            "date",
            "“{day}” may be day or month first, and no row of the file tells; "
            "say --date-order dmy (day first) or --date-order mdy (month first).",
            day=example,
        )
    raise InvalidInput.of(
        "date",
        "Some days of the file are written day first and others month first; write them all like 2026-03-05.",
    )


def _with_times_carried_down(rows: list[SheetRow]) -> Iterator[SheetRow]:
    """Give a row without a time that of the row above, when both are of one day, behaviour, kind and session."""
    above: SheetRow | None = None
    for row in rows:
        if row.at is None and above is not None and _same_session(above, row):
            row = replace(row, at=above.at)
        above = row
        yield row


def _same_session(one: SheetRow, other: SheetRow) -> bool:
    return (one.day, one.behaviour, one.kind, one.session) == (
        other.day,
        other.behaviour,
        other.kind,
        other.session,
    )


class _Reader:
    """Reads one row after the other, and notes all that is wrong with each."""

    def __init__(self, catalogue: Catalogue, period: Period, order: DateOrder) -> None:
        self.period = period
        self.order = order
        self.behaviours = {b.key.casefold(): b for b in catalogue.behaviours.values()}
        self.behaviours |= {b.name.casefold(): b for b in catalogue.behaviours.values()}
        self.problems: list[Problem] = []
        self.seen: set[UUID] = set()

    def read(self, number: int, row: Mapping[Column, str], *, n_extra: int) -> SheetRow | BadRow:
        self.problems = []
        if n_extra:
            self._refuse("", "The row has more cells than the header; put a decimal comma or a text into quotes.")
        moment = self._moment(row)
        behaviour, step = self._step(row)
        kind = read_kind(row[Column.KIND])
        if kind is None:
            self._refuse("kind", "“{given}” is no kind; write training or probe.", given=row[Column.KIND])
        held_s, target_s = self._hold(row, behaviour, step)
        trial_id = self._trial_id(row)
        outcome = self._outcome(row, held_s, target_s, corrected=trial_id is not None)
        broke = self._broke(row)
        latency_s = self._seconds(row, Column.LATENCY)
        pieces = self._pieces(row)
        reinforcer, place, handler = (self._name(row, column) for column in NAMES)
        if self.problems or moment is None or behaviour is None or outcome is None or kind is None:
            return BadRow(number, tuple(self.problems))
        return SheetRow(
            number=number,
            day=moment[0],
            at=moment[1],
            behaviour=behaviour.key,
            step=step,
            outcome=outcome,
            kind=kind,
            latency_s=latency_s,
            held_s=held_s,
            target_s=target_s,
            pieces=pieces,
            reinforcer=reinforcer,
            session=row[Column.SESSION],
            place=place,
            handler=handler,
            broke=broke,
            trial_id=trial_id,
        )

    def _refuse(self, where: str, template: str, **figures: str | int | float) -> None:
        self.problems.append(Problem(where, template, **figures))

    def _moment(self, row: Mapping[Column, str]) -> tuple[date, time | None] | None:
        day_word, time_word = split_moment(row[Column.DATE])
        time_word = row[Column.TIME] or time_word
        day = read_day(day_word, self.order)
        at = read_time(time_word) if time_word else None
        if time_word and at is None:
            self._refuse("time", "“{given}” is no time; write it like 14:30.", given=time_word)
        if day is None:
            self._refuse("date", "“{given}” is no date; write it like 2026-03-05.", given=row[Column.DATE])
            return None
        self._require_in_period(day, at)
        return day, at

    def _require_in_period(self, day: date, at: time | None) -> None:
        period = self.period
        if not period.first_day <= day <= period.last_day:
            self._refuse(
                "date",
                "{day} is outside the programme ({first} to {last}); check the date and its order.",
                day=day.isoformat(),
                first=period.first_day.isoformat(),
                last=period.last_day.isoformat(),
            )
        elif day > local_day(period.now, period.zone) or (at and _is_later(day, at, period)):
            self._refuse("date", "{day} is in the future; check the date, and the time.", day=day.isoformat())

    def _step(self, row: Mapping[Column, str]) -> tuple[Behaviour | None, str]:
        word = row[Column.BEHAVIOUR]
        behaviour = self.behaviours.get(word.casefold())
        if behaviour is None:
            self._refuse(
                "behaviour", "“{given}” is not in the catalogue; `pupilage catalogue` lists what is.", given=word
            )
            return None, ""
        step = _find_step(behaviour, row[Column.STEP])
        if not step:
            self._refuse(
                "step",
                "“{given}” is no step of “{behaviour}”; its steps are {known}, or 1 to {n}.",
                given=row[Column.STEP],
                behaviour=behaviour.key,
                known=", ".join(one.key for one in behaviour.steps),
                n=len(behaviour.steps),
            )
        return behaviour, step

    def _seconds(self, row: Mapping[Column, str], column: Column) -> float | None:
        if not row[column]:
            return None
        seconds = read_number(row[column])
        if seconds is None or seconds > MAX_SECONDS:
            self._refuse(
                column.value,
                "“{given}” is no number of seconds between 0 and {most}.",
                given=row[column],
                most=MAX_SECONDS,
            )
        return seconds

    def _hold(
        self, row: Mapping[Column, str], behaviour: Behaviour | None, step: str
    ) -> tuple[float | None, float | None]:
        held_s, target_s = self._seconds(row, Column.HELD), self._seconds(row, Column.TARGET)
        if held_s is None:
            return None, None
        found = behaviour.step(step) if behaviour and step else None
        if target_s is None and found is not None and found.criterion.duration_s > 0:
            target_s = found.criterion.duration_s
        if target_s is None:
            self._refuse("target_s", "A hold needs target_s, the seconds that were asked for.")
        return held_s, target_s

    def _outcome(
        self, row: Mapping[Column, str], held_s: float | None, target_s: float | None, *, corrected: bool
    ) -> Outcome | None:
        """Return the outcome. corrected: the row is ours, and what stands there was put right by a person."""
        word = row[Column.OUTCOME]
        by_time = None if held_s is None or target_s is None else _outcome_of_hold(held_s, target_s)
        if not word and by_time is not None:
            return by_time
        outcome = read_outcome(word)
        if outcome is None:
            words = ", ".join(known[0] for known in OUTCOME_WORDS.values())
            self._refuse("outcome", "“{given}” is no outcome; write {words}.", given=word, words=words)
        elif (
            not corrected
            and by_time is not None
            and outcome in {Outcome.MET, Outcome.MISSED}
            and outcome is not by_time
        ):
            self._refuse(
                "outcome",
                "The outcome is “{outcome}”, but {held:g} s of {target:g} s were held; correct one of them.",
                outcome=outcome.value,
                held=held_s or 0.0,
                target=target_s or 0.0,
            )
        return outcome

    def _broke(self, row: Mapping[Column, str]) -> bool | None:
        broke = read_yes_no(row[Column.BROKE])
        if row[Column.BROKE] and broke is None:
            self._refuse("broke", "“{given}” is neither yes nor no.", given=row[Column.BROKE])
        return broke

    def _name(self, row: Mapping[Column, str], column: Column) -> str:
        name = " ".join(unguarded(row[column]).split())
        if len(name) > MAX_NAME:
            self._refuse(column.value, "The name is over {most} letters; shorten it.", most=MAX_NAME)
        return name

    def _trial_id(self, row: Mapping[Column, str]) -> UUID | None:
        word = row[Column.TRIAL]
        if not word:
            return None
        try:
            trial_id = UUID(word)
        except ValueError:
            self._refuse("trial_id", "“{given}” is no trial's id; leave the cell empty.", given=word)
            return None
        if trial_id in self.seen:
            self._refuse("trial_id", "“{given}” stands in an earlier row too; leave the cell empty.", given=word)
        self.seen.add(trial_id)
        return trial_id

    def _pieces(self, row: Mapping[Column, str]) -> int:
        if not row[Column.PIECES]:
            return 0
        pieces = read_count(row[Column.PIECES])
        if pieces is None or pieces > MAX_PIECES:
            self._refuse(
                "pieces",
                "“{given}” is no number of pieces between 0 and {most}.",
                given=row[Column.PIECES],
                most=MAX_PIECES,
            )
            return 0
        return pieces


def _is_later(day: date, at: time, period: Period) -> bool:
    return at_wall_clock(datetime.combine(day, at), period.zone).at > period.now + timedelta(minutes=2)


def _outcome_of_hold(held_s: float, target_s: float) -> Outcome:
    return Outcome.MET if held_s >= target_s else Outcome.MISSED


def _find_step(behaviour: Behaviour, word: str) -> str:
    """Return the key of the step that a cell names by key, by summary, or by its place from 1; else nothing."""
    for step in behaviour.steps:
        if word.casefold() in {step.key.casefold(), step.summary.casefold()}:
            return step.key
    place = read_count(word) or 0
    return behaviour.steps[place - 1].key if 1 <= place <= len(behaviour.steps) else ""
