"""What the programme page shows: goals, where each stands, and the chance of being ready."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.toilet.limits import DEFAULT_RISK
from pupilage.core.clock import local_day
from pupilage.core.planning.programme.plan import ProgrammePlan, numbers_from
from pupilage.core.planning.standing import Frame, GoalAim, Standing, stand
from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.sets_of_five import judge_set_of_five
from pupilage.core.training.criterion.standing import current_run
from pupilage.core.training.outlook.chances import CEILING
from pupilage.core.training.pooling.prior_shape import find_shape, origin_of
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.record.evidence import Trial
from pupilage.core.words import Sentence
from pupilage.services.know_dog import know_dog
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme, TrainingSession
from pupilage.storage.queries.plans import find_plan
from pupilage.storage.queries.programmes import (
    find_current_programme,
    list_goals,
    programme_readable_by,
    programmes_readable_by,
)
from pupilage.storage.queries.sessions import sessions_readable_by


@dataclass(frozen=True)
class ProgrammeHead:
    """A programme's frame in plain values. day_number counts from 1 on the day of arrival.

    ended: the day of the hand-over is over;
    signs: what belongs to a veterinarian before any training, a line each;
    outing_risk: the chance of an accident between two outings that the trainer takes;
    days_off: as ISO dates, in order; minutes_a_day: the trainer's, None where not limited.
    """

    id: UUID
    dog_id: UUID
    dog: str
    family: str
    arrival_on: date
    handover_on: date
    day_number: int
    n_days: int
    days_left: int
    ended: bool
    sessions_a_day: int
    age_weeks: float
    signs: str = ""
    outing_risk: float = DEFAULT_RISK
    days_off: tuple[str, ...] = ()
    minutes_a_day: int | None = None


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
    """The programme with its goals, the weightiest first, and its newest sessions.

    origin: where what is expected of the pup comes from;
    sets_of_five: by behaviour, what the common practice says of the last complete set at the step now in practice;
    ceiling: the chance of the test for a pup that meets nine in ten.
    """

    head: ProgrammeHead
    standings: tuple[Standing, ...]
    sessions: tuple[SessionLine, ...]
    sets_of_five: Mapping[str, Action | None]
    origin: Sentence
    ceiling: float = CEILING


def read_programme(actor: Actor, programme_id: UUID, *, now: datetime) -> ProgrammePage:
    """Return the programme page. Who may: whoever may read. Raises NotFound."""
    programme = programme_readable_by(actor, programme_id)
    known = know_dog(actor, programme)
    standings = standings_of(actor, programme, known, now=now, compare=True)
    return ProgrammePage(
        head=head_of(actor, programme, now=now),
        standings=tuple(standings),
        sessions=tuple(session_lines(list_session_rows(actor, programme, limit=20), known.trials)),
        sets_of_five=_sets_of_five(standings, known),
        origin=origin_of(find_shape(programme.prior_shape)),
    )


def _sets_of_five(standings: list[Standing], known: Knowledge) -> dict[str, Action | None]:
    """Return what the last complete set of five says, of the run that our own decision reads."""
    return {
        s.behaviour.key: judge_set_of_five([t.outcome for t in current_run(s.behaviour, known.of(s.behaviour.key))])
        for s in standings
    }


def read_head(actor: Actor, programme_id: UUID, *, now: datetime) -> ProgrammeHead:
    """Return the frame of a programme alone. Who may: whoever may read. Raises NotFound."""
    return head_of(actor, programme_readable_by(actor, programme_id), now=now)


def list_programmes(actor: Actor, *, now: datetime) -> list[ProgrammeHead]:
    """Return every stay of the workspace, the newest arrival first; the practice of a resident dog is none."""
    stays = programmes_readable_by(actor).filter(dog__is_resident=False)
    return [head_of(actor, programme, now=now) for programme in stays]


def find_current(actor: Actor, *, now: datetime) -> Programme | None:
    """Return the programme that runs today; else the next to come; else the last."""
    return find_current_programme(actor, now.astimezone(actor.zone).date())


def find_current_id(actor: Actor, *, now: datetime) -> UUID | None:
    """Return the id of the programme that `find_current` finds."""
    programme = find_current(actor, now=now)
    return programme.id if programme else None


def find_current_head(actor: Actor, *, now: datetime) -> ProgrammeHead | None:
    """Return the head of the programme that `find_current` finds."""
    programme = find_current(actor, now=now)
    return head_of(actor, programme, now=now) if programme else None


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
        ended=today > programme.handover_on,
        sessions_a_day=programme.sessions_a_day,
        age_weeks=(today - programme.dog.born_on).days / 7,
        signs=programme.dog.signs,
        outing_risk=programme.outing_risk,
        days_off=tuple(sorted(programme.days_off)),
        minutes_a_day=programme.minutes_a_day,
    )


def standings_of(
    actor: Actor, programme: Programme, known: Knowledge, *, now: datetime, compare: bool
) -> list[Standing]:
    """Return where each goal of a programme stands. known: what `know_dog` says of its pup; compare: see `stand`.

    The sessions are those of the stay's plan where one is kept that fits, else shared out here.
    """
    aims, frame, numbers = _terms(actor, programme, now)
    return stand(aims, known, catalogue=load_catalogue(), frame=frame, now=now, compare=compare, numbers=numbers)


def standings_this_morning(actor: Actor, programme: Programme, known: Knowledge, *, now: datetime) -> list[Standing]:
    """Return where each goal stood this morning, plans compared; on the first day, where it stands now.

    Worked out once a day: it takes most of a second, and a session of today moves it little.
    """
    aims, frame, numbers = _terms(actor, programme, now)
    morning = known_this_morning(known, now)
    as_given = None if numbers is None else tuple(sorted(numbers.items()))
    key = ("standings", tuple(aims), frame, local_day(now, frame.zone), as_given)

    def work_out() -> list[Standing]:
        return stand(aims, morning, catalogue=load_catalogue(), frame=frame, now=now, numbers=numbers)

    return morning.keep(key, work_out)


def known_this_morning(known: Knowledge, now: datetime) -> Knowledge:
    """Return what was known before today's first try; what is known now where nothing was tried before today."""
    morning = known.morning(now)
    return morning if morning.trials else known


def _terms(actor: Actor, programme: Programme, now: datetime) -> tuple[list[GoalAim], Frame, Mapping[str, int] | None]:
    """Return the goals, the stay's frame, and the sessions of each goal by the plan that is kept, where it fits."""
    aims = [GoalAim(goal.behaviour, goal.step, goal.weight) for goal in list_goals(programme)]
    frame, today = frame_of(actor, programme), now.astimezone(actor.zone).date()
    plan = find_plan(programme)
    return aims, frame, numbers_from(plan, today) if plan is not None and _fits(plan, aims, frame, today) else None


def _fits(plan: ProgrammePlan, aims: Sequence[GoalAim], frame: Frame, today: date) -> bool:
    """Whether a plan is of these goals, of this hand-over, and of today."""
    planned = {(goal.behaviour, goal.target, goal.weight) for goal in plan.goals}
    return (
        planned == {(aim.behaviour, aim.step, aim.weight) for aim in aims}
        and plan.handover_on == frame.handover_on
        and any(one.day == today for one in plan.days)
    )


def list_session_rows(actor: Actor, programme: Programme, *, limit: int) -> list[TrainingSession]:
    """Return the newest sessions of a programme. One query."""
    return list(sessions_readable_by(actor).filter(programme=programme)[:limit])


def session_lines(rows: list[TrainingSession], trials: Sequence[Trial]) -> list[SessionLine]:
    """Return sessions with their counts, in the order given."""
    tries: dict[str, list[Trial]] = defaultdict(list)
    for trial in trials:
        tries[trial.session_id].append(trial)
    return [_line(row, tries.get(str(row.id), [])) for row in rows]


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
