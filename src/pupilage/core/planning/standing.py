"""Where each goal stands: the step in practice, what to do with it next, and the chance of being ready."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue, Step
from pupilage.core.clock import age_weeks, day_bounds, local_day
from pupilage.core.planning.proposal import GoalState
from pupilage.core.training.belief import Belief, believe
from pupilage.core.training.course import spread_sessions
from pupilage.core.training.decision import Decision, decide
from pupilage.core.training.evidence import Outcome, SessionKind
from pupilage.core.training.forecast import Forecast, forecast
from pupilage.core.training.knowledge import Knowledge
from pupilage.core.training.retention import days_until_due, name_the_fall
from pupilage.core.training.standing import current_step, practised_step
from pupilage.core.words import Sentence

MAX_SESSIONS_A_DAY = 2
"""Sessions of one behaviour on one day. Common practice, no source: short, and not back to back."""


@dataclass(frozen=True)
class GoalAim:
    """A goal as set: behaviour key, the step it should be at on the hand-over day, weight 1 to 5."""

    behaviour: str
    step: str
    weight: int


@dataclass(frozen=True)
class Frame:
    """The frame of a programme: the pup's birth, the dates, how many sessions fit a day, the local zone."""

    born_on: date
    arrival_on: date
    handover_on: date
    sessions_a_day: int
    zone: tzinfo

    def days_left(self, now: datetime) -> int:
        """Return the days until the hand-over, 0 on the day itself and after it."""
        return max(0, (self.handover_on - local_day(now, self.zone)).days)

    def day_number(self, now: datetime) -> int:
        """Return the day of the stay, 1 on the day of arrival."""
        return (local_day(now, self.zone) - self.arrival_on).days + 1

    @property
    def n_days(self) -> int:
        """The days of the stay, the day of arrival counted and the day of the hand-over not."""
        return (self.handover_on - self.arrival_on).days


@dataclass(frozen=True)
class Standing:
    """One goal today.

    step is where the next session begins; decision is about the trials at the step practised last, and leads there.
    baseline is the belief from cold probes alone, None without one; sessions_left is this goal's share of what
    still fits before the hand-over; due_in_days, the days until it should be practised again, None before it is at
    its goal; fall, a word on what a gap in practice has taken, None without one.
    """

    behaviour: Behaviour
    target: Step
    weight: int
    step: Step
    decision: Decision
    forecast: Forecast
    baseline: Belief | None
    n_trials: int
    n_sessions: int
    n_sessions_today: int
    last_trained_at: datetime | None
    sessions_left: int
    lacking: tuple[str, ...]
    old_enough: bool
    due_in_days: int | None
    fall: Sentence | None

    @property
    def at_target(self) -> bool:
        """Whether practice has reached the step of the goal."""
        index, target = self.behaviour.step_index(self.step.key), self.behaviour.step_index(self.target.key)
        return index is not None and target is not None and index >= target

    @property
    def state(self) -> GoalState:
        """The goal as the proposal reads it."""
        return GoalState(
            behaviour=self.behaviour,
            step=self.step.key,
            target=self.target.key,
            weight=self.weight,
            p_ready=self.forecast.p,
            last_trained_at=self.last_trained_at,
            n_sessions_today=self.n_sessions_today,
            prerequisites_met=not self.lacking,
            old_enough=self.old_enough,
            due_in_days=self.due_in_days,
        )


def stand(
    aims: Sequence[GoalAim], known: Knowledge, *, catalogue: Catalogue, frame: Frame, now: datetime
) -> list[Standing]:
    """Return where each goal stands, in the order of the aims. known: of the dog whose goals they are.

    An aim whose behaviour or step has left the catalogue is left out: its record stays in the log.
    """
    aims = [aim for aim in aims if _is_known(aim, catalogue)]
    steps = {
        aim.behaviour: current_step(catalogue.behaviours[aim.behaviour], known, now=now, target=aim.step)
        for aim in aims
    }
    shares = share_sessions(aims, steps, catalogue=catalogue, frame=frame, now=now)
    return [
        _standing(
            aim,
            known,
            step=steps[aim.behaviour],
            sessions_left=shares[aim.behaviour],
            catalogue=catalogue,
            frame=frame,
            now=now,
        )
        for aim in aims
    ]


def _is_known(aim: GoalAim, catalogue: Catalogue) -> bool:
    behaviour = catalogue.find_behaviour(aim.behaviour)
    return behaviour is not None and behaviour.step(aim.step) is not None


def share_sessions(
    aims: Sequence[GoalAim], steps: Mapping[str, str], *, catalogue: Catalogue, frame: Frame, now: datetime
) -> dict[str, int]:
    """Return how many of the sessions still possible fall to each goal.

    **Model**: in proportion to weight × steps still to go (at least one half, for upkeep), and never more than two
    a day. The planner of a later issue replaces this rule of thumb; it assumes nothing about the dog.
    """
    needs = {}
    for aim in aims:
        behaviour = catalogue.behaviours[aim.behaviour]
        to_go = (behaviour.step_index(aim.step) or 0) - (behaviour.step_index(steps[aim.behaviour]) or 0)
        needs[aim.behaviour] = aim.weight * max(0.5, float(to_go))
    days = frame.days_left(now)
    total, possible = sum(needs.values()), days * frame.sessions_a_day
    return {
        key: min(days * MAX_SESSIONS_A_DAY, round(possible * need / total)) if total else 0
        for key, need in needs.items()
    }


def _standing(
    aim: GoalAim,
    known: Knowledge,
    *,
    step: str,
    sessions_left: int,
    catalogue: Catalogue,
    frame: Frame,
    now: datetime,
) -> Standing:
    behaviour = catalogue.behaviours[aim.behaviour]
    own = known.of(aim.behaviour)
    training = [trial for trial in own if trial.kind is SessionKind.TRAINING]
    probes = [trial for trial in own if trial.kind is SessionKind.PROBE and trial.outcome is not Outcome.VOID]
    today = local_day(now, frame.zone)
    start, end = day_bounds(today, frame.zone)
    practised = practised_step(behaviour, own) or step
    place, goal = behaviour.step_index(step) or 0, behaviour.step_index(aim.step) or 0
    sessions = spread_sessions(sessions_left, frame.days_left(now))
    return Standing(
        behaviour=behaviour,
        target=behaviour.steps[goal],
        weight=aim.weight,
        step=behaviour.steps[place],
        decision=decide(behaviour, practised, known, session_id=None, now=now, target=aim.step),
        forecast=forecast(behaviour, aim.step, known, now=now, sessions=sessions),
        baseline=believe(probes) if probes else None,
        n_trials=sum(trial.outcome is not Outcome.VOID for trial in training),
        n_sessions=len({trial.session_id for trial in training}),
        n_sessions_today=len({trial.session_id for trial in own if start <= trial.at < end}),
        last_trained_at=training[-1].at if training else None,
        sessions_left=sessions_left,
        lacking=_lacking(behaviour, known),
        old_enough=age_weeks(frame.born_on, today) >= behaviour.min_age_weeks,
        due_in_days=days_until_due(known.state, behaviour, goal, now=now) if place >= goal and training else None,
        fall=name_the_fall(known.state, aim.behaviour, place, now=now) if training else None,
    )


def _lacking(behaviour: Behaviour, known: Knowledge) -> tuple[str, ...]:
    """Return the prerequisites that nobody has met even once, by key."""
    return tuple(
        key for key in behaviour.prerequisites if not any(trial.outcome is Outcome.MET for trial in known.of(key))
    )
