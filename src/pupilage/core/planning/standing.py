"""Where each goal stands: the step in practice, what to do with it next, and the chance of being ready."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, tzinfo
from math import ceil

from pupilage.core.catalogue.behaviour import Behaviour, Catalogue, Step
from pupilage.core.clock import age_weeks, day_bounds, local_day
from pupilage.core.planning.proposal import GoalState
from pupilage.core.planning.sharing import Curve, Share, curve_of, share_out, shares_as_planned
from pupilage.core.training.criterion.decision import Decision, decide, session_worth
from pupilage.core.training.criterion.standing import current_step, practised_step
from pupilage.core.training.outlook.course import spread_sessions
from pupilage.core.training.outlook.forecast import Forecast, forecast
from pupilage.core.training.posterior.belief import Belief, believe
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import MoreTrials, after_more
from pupilage.core.training.posterior.retention import FirstTries, compare_first_tries, days_until_due, name_the_fall
from pupilage.core.training.record.evidence import Outcome, SessionKind
from pupilage.core.words import Sentence


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
    baseline is the belief from cold probes alone, None without one; share, this goal's part of the sessions that
    still fit before the hand-over; gain, weight × chance that one more session today adds; opens, the gain of a goal
    that waits for this one; due_in_days, the days until it should be practised again, None before it is at its goal;
    fall, a word on what a gap in practice has taken, None without one; first_tries of a day beside later ones, and what
    five more tries at the step would tell, only where plans are compared.
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
    share: Share
    gain: float
    opens: float
    lacking: tuple[str, ...]
    old_enough: bool
    due_in_days: int | None
    fall: Sentence | None
    first_tries: FirstTries | None = None
    more: MoreTrials | None = None

    @property
    def sessions_left(self) -> int:
        return self.share.n_sessions

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
            share=self.share,
            gain=self.gain,
            opens=self.opens,
            p_ready=self.forecast.p,
            last_trained_at=self.last_trained_at,
            n_sessions_today=self.n_sessions_today,
            prerequisites_met=not self.lacking,
            old_enough=self.old_enough,
            due_in_days=self.due_in_days,
        )


def stand(
    aims: Sequence[GoalAim],
    known: Knowledge,
    *,
    catalogue: Catalogue,
    frame: Frame,
    now: datetime,
    compare: bool = True,
    numbers: Mapping[str, int] | None = None,
) -> list[Standing]:
    """Return where each goal stands, in the order of the aims. known: of the dog whose goals they are.

    compare: see `forecast.forecast`; numbers: see `plan_sessions`.
    An aim whose behaviour or step has left the catalogue is left out: its record stays in the log.
    """
    aims = [aim for aim in aims if _is_known(aim, catalogue)]
    shares = plan_sessions(aims, known, catalogue=catalogue, frame=frame, now=now, numbers=numbers)
    return _with_openings(
        [_standing(aim, known, shares, catalogue=catalogue, frame=frame, now=now, compare=compare) for aim in aims]
    )


def _is_known(aim: GoalAim, catalogue: Catalogue) -> bool:
    behaviour = catalogue.find_behaviour(aim.behaviour)
    return behaviour is not None and behaviour.step(aim.step) is not None


def plan_sessions(
    aims: Sequence[GoalAim],
    known: Knowledge,
    *,
    catalogue: Catalogue,
    frame: Frame,
    now: datetime,
    numbers: Mapping[str, int] | None = None,
) -> dict[str, Share]:
    """Return how many of the sessions still possible fall to each goal, and what they are worth.

    Model: `sharing.share_out` on what was known this morning, so that the plan of a day stands for the day. A goal for
    which the pup is too young gets its sessions from the day on which it is old enough.
    numbers: the sessions of each goal from today on by the plan of the stay, which has placed them on days; None
    without one that fits: they are shared out here. No session fits beyond two a day.
    """
    morning = known.morning(now)
    days = frame.days_left(now)
    given = None if numbers is None else {aim.behaviour: numbers.get(aim.behaviour, 0) if days else 0 for aim in aims}

    def plan() -> dict[str, Share]:
        weights = {aim.behaviour: float(aim.weight) for aim in aims}
        if given is None:
            curves = {aim.behaviour: _curve(aim, morning, catalogue, frame, now) for aim in aims}
            return share_out(curves, weights, days * frame.sessions_a_day)
        curves = {aim.behaviour: _curve(aim, morning, catalogue, frame, now, also=given[aim.behaviour]) for aim in aims}
        return shares_as_planned(curves, weights, given)

    as_given = None if given is None else tuple(given.items())
    return morning.keep(("plan", tuple(aims), frame, days, as_given), plan)


def _curve(
    aim: GoalAim, morning: Knowledge, catalogue: Catalogue, frame: Frame, now: datetime, also: int | None = None
) -> Curve:
    behaviour = catalogue.behaviours[aim.behaviour]
    step = current_step(behaviour, morning, now=now, target=aim.step, days_left=frame.days_left(now))
    age = age_weeks(frame.born_on, local_day(now, frame.zone))
    return curve_of(
        morning.at(aim.behaviour, now),
        step=behaviour.step_index(step) or 0,
        target=behaviour.step_index(aim.step) or 0,
        n_days=frame.days_left(now),
        first_day=max(0, ceil(7 * (behaviour.min_age_weeks - age))),
        also=also,
    )


def _standing(
    aim: GoalAim,
    known: Knowledge,
    shares: Mapping[str, Share],
    *,
    catalogue: Catalogue,
    frame: Frame,
    now: datetime,
    compare: bool,
) -> Standing:
    behaviour = catalogue.behaviours[aim.behaviour]
    own = known.of(aim.behaviour)
    training = [trial for trial in own if trial.kind is SessionKind.TRAINING]
    probes = [trial for trial in own if trial.kind is SessionKind.PROBE and trial.outcome is not Outcome.VOID]
    today = local_day(now, frame.zone)
    start, end = day_bounds(today, frame.zone)
    days, share = frame.days_left(now), shares[aim.behaviour]
    step = current_step(behaviour, known, now=now, target=aim.step, days_left=days)
    practised = practised_step(behaviour, own) or step
    place, goal = behaviour.step_index(step) or 0, behaviour.step_index(aim.step) or 0
    decision = decide(behaviour, practised, known, session_id=None, now=now, target=aim.step, days_left=days)
    sessions = spread_sessions(share.n_sessions, days)
    return Standing(
        behaviour=behaviour,
        target=behaviour.steps[goal],
        weight=aim.weight,
        step=behaviour.steps[place],
        decision=decision,
        forecast=forecast(behaviour, aim.step, known, now=now, sessions=sessions, compare=compare),
        baseline=believe(probes) if probes else None,
        n_trials=sum(trial.outcome is not Outcome.VOID for trial in training),
        n_sessions=len({trial.session_id for trial in training}),
        n_sessions_today=len({trial.session_id for trial in own if start <= trial.at < end}),
        last_trained_at=training[-1].at if training else None,
        share=share,
        gain=aim.weight * session_worth(behaviour, known, now=now, target=aim.step, days_left=days).gain,
        opens=0.0,
        lacking=_lacking(behaviour, known),
        old_enough=age_weeks(frame.born_on, today) >= behaviour.min_age_weeks,
        due_in_days=days_until_due(known.arrived(now), behaviour, goal, now=now)
        if place >= goal and training
        else None,
        first_tries=compare_first_tries(training, frame.zone) if compare else None,
        more=after_more(decision.reading) if compare else None,
        fall=name_the_fall(known.arrived(now), aim.behaviour, place, now=now) if training else None,
    )


def _with_openings(standings: Sequence[Standing]) -> list[Standing]:
    """Return the standings, each with the best gain of the goals that wait for it to be met for the first time."""
    waiting = [(key, standing.gain) for standing in standings for key in standing.lacking]
    return [
        replace(standing, opens=max((gain for key, gain in waiting if key == standing.behaviour.key), default=0.0))
        for standing in standings
    ]


def _lacking(behaviour: Behaviour, known: Knowledge) -> tuple[str, ...]:
    """Return the prerequisites that nobody has met even once, by key."""
    return tuple(
        key for key in behaviour.prerequisites if not any(trial.outcome is Outcome.MET for trial in known.of(key))
    )
