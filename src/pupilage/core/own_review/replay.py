"""What was told on a day, worked out again from the log as it stood then."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from pupilage.core.catalogue.behaviour import Catalogue
from pupilage.core.planning.standing import Frame, GoalAim, stand
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.prior import Prior
from pupilage.core.training.record.events import Event
from pupilage.core.training.record.evidence import SessionKind, Trial, TrialSource
from pupilage.core.training.record.fold import fold_session

SHARES = (0.25, 0.5, 0.75)
"""A quarter, half and three quarters of the stay through (an own choice): early, midway, late."""


@dataclass(frozen=True)
class SessionLog:
    """The events of one session, and where its tries were written down."""

    events: tuple[Event, ...]
    source: TrialSource


@dataclass(frozen=True)
class ToldThen:
    """The chance of a goal as it was told on the evening of a day."""

    behaviour: str
    step: str
    on: date
    p: float


@dataclass(frozen=True)
class Overruled:
    """Sessions that began at another step than the one advised then, of so many that had an advice."""

    n: int
    n_higher: int
    n_lower: int


def moments_of(frame: Frame) -> list[datetime]:
    """Return the evenings of the stay on which its forecasts are read: 21:00, where the trainer is."""
    days = sorted({frame.arrival_on + timedelta(days=int(share * frame.n_days)) for share in SHARES})
    return [datetime.combine(day, time(21), tzinfo=frame.zone) for day in days if day < frame.handover_on]


def trials_as_of(logs: Iterable[SessionLog], at: datetime) -> list[Trial]:
    """Return the trials as the log had them at an instant: what was corrected later stands as it was then."""
    found: list[Trial] = []
    for log in logs:
        record = fold_session([event for event in log.events if event.at <= at], log.source)
        found += [] if record is None else record.trials
    return sorted(found, key=lambda trial: trial.at)


def replay(
    aims: Sequence[GoalAim], logs: Sequence[SessionLog], *, catalogue: Catalogue, frame: Frame, prior: Prior | None
) -> list[ToldThen]:
    """Return what would have been told of each goal at the moments of `moments_of`; nothing where too little was known.

    Model: `standing.stand` on the log of that instant, with the prior that the stay began with. Assumes: the goals,
    dates and catalogue of today, since earlier ones are not kept, and sessions shared out rather than planned.
    """
    found = []
    for at in moments_of(frame):
        known = know(catalogue.behaviours, trials_as_of(logs, at), zone=frame.zone, prior=prior)
        for one in stand(aims, known, catalogue=catalogue, frame=frame, now=at, compare=False):
            if one.forecast.p is not None:
                found.append(ToldThen(one.behaviour.key, one.target.key, at.date(), one.forecast.p))
    return found


def count_overruled(
    aims: Sequence[GoalAim], trials: Sequence[Trial], *, catalogue: Catalogue, frame: Frame, prior: Prior | None
) -> Overruled:
    """Return how often a training session of a goal began above or below the step that was advised before it.

    trials: in time order. A behaviour's first session is left out: before it there is no practice to advise from.
    """
    targets = {aim.behaviour: aim.step for aim in aims}
    firsts: dict[str, int] = {}
    for n, trial in enumerate(trials):
        if trial.kind is SessionKind.TRAINING:
            firsts.setdefault(trial.session_id, n)
    found, known, seen = [0, 0, 0], know(catalogue.behaviours, (), zone=frame.zone, prior=prior), set()
    for n in firsts.values():
        first = trials[n]
        behaviour = catalogue.find_behaviour(first.behaviour)
        if first.behaviour not in seen or behaviour is None or first.behaviour not in targets:
            seen.add(first.behaviour)
            continue
        known = know(catalogue.behaviours, trials[:n], zone=frame.zone, prior=prior, earlier=known)
        advised = current_step(
            behaviour, known, now=first.at, target=targets[first.behaviour], days_left=frame.days_left(first.at)
        )
        chosen, place = behaviour.step_index(first.step), behaviour.step_index(advised)
        if chosen is not None and place is not None:
            found[0] += 1
            found[1] += chosen > place
            found[2] += chosen < place
    return Overruled(*found)


def as_stored(told: Iterable[ToldThen]) -> list[dict[str, str | float]]:
    """Return forecasts in JSON's types."""
    return [{"behaviour": t.behaviour, "step": t.step, "on": t.on.isoformat(), "p": t.p} for t in told]


def from_stored(rows: Iterable[Mapping[str, str | float]]) -> list[ToldThen]:
    """Return what `as_stored` wrote."""
    return [
        ToldThen(str(row["behaviour"]), str(row["step"]), date.fromisoformat(str(row["on"])), float(row["p"]))
        for row in rows
    ]
