"""From a sheet's rows to the events of sessions: the same rows always give the same ids.

A trial's id follows from the programme, what its row says, and how many rows before it say the same; neither the
file's name nor the row's number is in it. Importing twice adds nothing, and rows added to the sheet later are new.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from typing import Any
from uuid import UUID, uuid5

from pupilage.core.clock import offset_min
from pupilage.core.sheets.moments import Period, at_wall_clock
from pupilage.core.sheets.rows import SheetRow
from pupilage.core.training.record.events import Event, EventKind
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind
from pupilage.core.training.record.fold import hold_outcome
from pupilage.core.words import Sentence

SESSION_GAP = timedelta(minutes=30)
"""Rows further apart than this are of two sessions (common practice: a young pup's session lasts minutes)."""

UNTIMED_FROM = time(12)
"""Rows without a time stand at noon, a minute later for each further session of the day."""

JUST_AFTER = timedelta(microseconds=1)


@dataclass(frozen=True)
class SheetTrial:
    """A row with the id of its trial and its instant; no two rows of a sheet share an instant."""

    id: UUID
    row: SheetRow
    at: datetime
    note: Sentence | None = None


def identify(rows: Sequence[SheetRow], programme_id: UUID, period: Period) -> list[SheetTrial]:
    """Return the rows as trials with their ids, in time order; rows of one minute keep the sheet's order."""
    seen: Counter[str] = Counter()
    untimed = _Untimed()
    found: list[SheetTrial] = []
    for row in rows:
        content = _content(row)
        seen[content] += 1
        moment = at_wall_clock(datetime.combine(row.day, row.at or untimed.time_of(row)), period.zone)
        note = moment.note if row.at else None
        trial_id = row.trial_id or uuid5(programme_id, f"{content}|{seen[content]}")
        found.append(SheetTrial(trial_id, row, min(moment.at, period.now), note))
    return list(_apart(sorted(found, key=lambda trial: trial.at)))


def _content(row: SheetRow) -> str:
    """Return what a row says, the same however the file was written.

    Place and handler are not in it: they are the session's, and a sheet that was imported before it had those columns
    must not come in a second time.
    """
    told = (
        row.day, row.at, row.behaviour, row.step, row.outcome.value, row.kind.value, row.latency_s, row.held_s,
        row.target_s, row.pieces, row.reinforcer, row.session,
    )  # fmt: skip
    return "|".join("" if part is None else str(part) for part in told)


@dataclass
class _Untimed:
    """Hands out times to sessions that have none."""

    places: dict[Any, dict[Any, int]] = field(default_factory=lambda: defaultdict(dict))

    def time_of(self, row: SheetRow) -> time:
        today = self.places[row.day]
        place = today.setdefault((row.behaviour, row.kind, row.session), len(today))
        return (datetime.combine(row.day, UNTIMED_FROM) + timedelta(minutes=place)).time()


def _apart(trials: Iterable[SheetTrial]) -> Iterator[SheetTrial]:
    last = datetime.min.replace(tzinfo=UTC)
    for trial in trials:
        last = max(trial.at, last + JUST_AFTER)
        yield SheetTrial(trial.id, trial.row, last, trial.note)


def group_sessions(trials: Sequence[SheetTrial]) -> list[list[SheetTrial]]:
    """Return the trials by session: one day, behaviour, kind and session word, and without a word no long gap.

    Another place or handler is another session; where a row gives none, those of its session stand.
    """
    groups: dict[tuple[Any, ...], list[list[SheetTrial]]] = defaultdict(list)
    for trial in trials:
        row = trial.row
        sessions = groups[row.day, row.behaviour, row.kind, row.session, row.at is None]
        if not sessions or _parts(sessions[-1], trial):
            sessions.append([])
        sessions[-1].append(trial)
    return [session for sessions in groups.values() for session in sessions]


def _parts(session: Sequence[SheetTrial], trial: SheetTrial) -> bool:
    """Return whether a trial begins another session than the one before it."""
    row = trial.row
    if not row.session and trial.at - session[-1].at > SESSION_GAP:
        return True
    place, handler = _names(session)
    return _differ(row.place, place) or _differ(row.handler, handler)


def _differ(one: str, other: str) -> bool:
    return bool(one and other) and one.casefold() != other.casefold()


def _names(session: Sequence[SheetTrial]) -> tuple[str, str]:
    """Return the place and the handler of a session: the first that any of its rows gives."""
    place = next((trial.row.place for trial in session if trial.row.place), "")
    return place, next((trial.row.handler for trial in session if trial.row.handler), "")


@dataclass
class SessionWriter:
    """Writes sessions as events of one device; `rows` says which row an event came from."""

    programme_id: UUID
    device_id: UUID
    period: Period
    rows: dict[str, int] = field(default_factory=dict)
    n_written: int = 0

    def write(self, session: Sequence[SheetTrial]) -> list[Event]:
        """Return the events of one session, from its start to its end."""
        first, last = session[0], session[-1]
        session_id = uuid5(first.id, "session")
        step, reinforcer = first.row.step, first.row.reinforcer
        place, handler = _names(session)
        events = [self._start(session_id, first, place=place, handler=handler)]
        for trial in session:
            if trial.row.step != step:
                step = trial.row.step
                events.append(self._event(session_id, trial, "step", EventKind.STEP_CHANGED, step=step))
            if trial.row.reinforcer and trial.row.reinforcer != reinforcer:
                reinforcer = trial.row.reinforcer
                kind = EventKind.REINFORCER_CHANGED
                events.append(self._event(session_id, trial, "reinforcer", kind, reinforcer=reinforcer))
            events += self._trial(session_id, trial)
        return [*events, self._event(session_id, last, "end", EventKind.SESSION_ENDED)]

    def _start(self, session_id: UUID, first: SheetTrial, **names: str) -> Event:
        row = first.row
        return self._event(
            session_id,
            first,
            "start",
            EventKind.SESSION_STARTED,
            programme=str(self.programme_id),
            behaviour=row.behaviour,
            step=row.step,
            kind=row.kind.value,
            reinforcer=row.reinforcer,
            pieces=None,
            cold=row.kind is SessionKind.PROBE,
            **names,
        )

    def _trial(self, session_id: UUID, trial: SheetTrial) -> list[Event]:
        row = trial.row
        if row.held_s is None or row.target_s is None:
            told: dict[str, Any] = {"outcome": row.outcome.value, "pieces": row.pieces}
            if row.latency_s is not None:
                told["latency_s"] = row.latency_s
            return [self._event(session_id, trial, "", EventKind.TRIAL, **told)]
        return self._hold(session_id, trial, row.held_s, row.target_s)

    def _hold(self, session_id: UUID, trial: SheetTrial, held_s: float, target_s: float) -> list[Event]:
        broke = trial.row.outcome is Outcome.MISSED if trial.row.broke is None else trial.row.broke
        end = EventKind.HOLD_BROKE if broke else EventKind.HOLD_RELEASED
        start = self._event(session_id, trial, "hold", EventKind.HOLD_STARTED, target_s=target_s)
        events = [
            start,
            self._event(session_id, trial, "", end, hold=start.id, held_s=held_s, pieces=trial.row.pieces),
        ]
        if hold_outcome(Hold(held_s, target_s, broke)) is not trial.row.outcome:
            told = {"event": str(trial.id), "outcome": trial.row.outcome.value}
            events.append(self._event(session_id, trial, "outcome", EventKind.CORRECTED, **told))
        return events

    def _event(self, session_id: UUID, trial: SheetTrial, part: str, what: EventKind, /, **payload: Any) -> Event:
        """Return an event at the trial's instant; the trial's own has its id, any other one made from it."""
        event_id = str(uuid5(trial.id, part) if part else trial.id)
        self.rows[event_id] = trial.row.number
        self.n_written += 1
        return Event(
            id=event_id,
            device_id=str(self.device_id),
            device_seq=self.n_written,
            session_id=str(session_id),
            kind=what,
            at=trial.at,
            tz_offset_min=offset_min(trial.at, self.period.zone),
            payload=payload,
        )
