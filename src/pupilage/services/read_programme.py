"""What the programme page shows: goals, where each stands, and the chance of being ready."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.planning.standing import Frame, GoalAim, Standing, stand
from pupilage.core.training.evidence import Trial
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme, TrainingSession
from pupilage.storage.queries.programmes import (
    find_current_programme,
    list_goals,
    programme_readable_by,
    programmes_readable_by,
)
from pupilage.storage.queries.sessions import list_trials, sessions_readable_by


@dataclass(frozen=True)
class ProgrammeHead:
    """A programme's frame in plain values. day_number counts from 1 on the day of arrival."""

    id: UUID
    dog_id: UUID
    dog: str
    family: str
    arrival_on: date
    handover_on: date
    day_number: int
    n_days: int
    days_left: int
    sessions_a_day: int
    age_weeks: float


@dataclass(frozen=True)
class SessionLine:
    """A session in a list."""

    id: UUID
    behaviour: str
    step: str
    kind: str
    source: str
    started_at: datetime
    ended_at: datetime | None
    n_trials: int
    n_met: int


@dataclass(frozen=True)
class ProgrammePage:
    """The programme with its goals, the weightiest first, and its newest sessions."""

    head: ProgrammeHead
    standings: tuple[Standing, ...]
    sessions: tuple[SessionLine, ...]


def read_programme(actor: Actor, programme_id: UUID, *, now: datetime) -> ProgrammePage:
    """Return the programme page. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    trials = list_trials(programme)
    return ProgrammePage(
        head=head_of(actor, programme, now=now),
        standings=tuple(standings_of(actor, programme, trials, now=now)),
        sessions=tuple(list_sessions(actor, programme, trials, limit=20)),
    )


def list_programmes(actor: Actor, *, now: datetime) -> list[ProgrammeHead]:
    """Return every programme of the workspace, the newest arrival first."""
    return [head_of(actor, programme, now=now) for programme in programmes_readable_by(actor)]


def find_current(actor: Actor, *, now: datetime) -> Programme | None:
    """Return the programme that runs today; else the next to come; else the last."""
    return find_current_programme(actor, now.astimezone(actor.zone).date())


def find_current_id(actor: Actor, *, now: datetime) -> UUID | None:
    """Return the id of the programme that `find_current` finds."""
    programme = find_current(actor, now=now)
    return programme.id if programme else None


def frame_of(actor: Actor, programme: Programme) -> Frame:
    """Return the programme's frame as core's type."""
    return Frame(
        born_on=programme.dog.born_on,
        arrival_on=programme.arrival_on,
        handover_on=programme.handover_on,
        sessions_a_day=programme.sessions_a_day,
        zone=actor.zone,
    )


def head_of(actor: Actor, programme: Programme, *, now: datetime) -> ProgrammeHead:
    """Return the frame of a programme for a page's head."""
    frame = frame_of(actor, programme)
    today = now.astimezone(actor.zone).date()
    return ProgrammeHead(
        id=programme.id,
        dog_id=programme.dog_id,
        dog=programme.dog.name,
        family=programme.family.name if programme.family else "",
        arrival_on=programme.arrival_on,
        handover_on=programme.handover_on,
        day_number=frame.day_number(now),
        n_days=frame.n_days,
        days_left=frame.days_left(now),
        sessions_a_day=programme.sessions_a_day,
        age_weeks=(today - programme.dog.born_on).days / 7,
    )


def standings_of(actor: Actor, programme: Programme, trials: list[Trial], *, now: datetime) -> list[Standing]:
    """Return where each goal of a programme stands."""
    aims = [GoalAim(goal.behaviour, goal.step, goal.weight) for goal in list_goals(programme)]
    return stand(aims, trials, catalogue=load_catalogue(), frame=frame_of(actor, programme), now=now)


def list_sessions(actor: Actor, programme: Programme, trials: list[Trial], *, limit: int) -> list[SessionLine]:
    """Return the newest sessions of a programme with their counts."""
    rows = sessions_readable_by(actor).filter(programme=programme)[:limit]
    return [_line(row, [t for t in trials if t.session_id == str(row.id)]) for row in rows]


def _line(row: TrainingSession, trials: list[Trial]) -> SessionLine:
    behaviour = load_catalogue().find_behaviour(row.behaviour)
    step = behaviour.step(row.step) if behaviour else None
    return SessionLine(
        id=row.id,
        behaviour=behaviour.name if behaviour else row.behaviour,
        step=step.summary if step else row.step,
        kind=row.kind,
        source=row.source,
        started_at=row.started_at,
        ended_at=row.ended_at,
        n_trials=sum(trial.outcome != "void" for trial in trials),
        n_met=sum(trial.outcome == "met" for trial in trials),
    )
