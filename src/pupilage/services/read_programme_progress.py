"""How far a stay has come: every goal today and at the hand-over, and what is due. Nothing is written."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import local_day
from pupilage.core.planning.standing import Standing
from pupilage.core.progress.passing import PassChance, chance_today
from pupilage.core.progress.way import GoalProgress
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.retention import cold_reading
from pupilage.core.training.record.evidence import Outcome
from pupilage.services.know_dog import know_dog
from pupilage.services.read_programme import ProgrammeHead, head_of, standings_this_morning
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.queries.programmes import programme_readable_by


@dataclass(frozen=True)
class ProgrammeProgress:
    """A stay's goals, the weightiest first, and what was tried beside them."""

    head: ProgrammeHead
    goals: tuple[GoalProgress, ...]
    others: tuple[Behaviour, ...]

    @property
    def due(self) -> tuple[GoalProgress, ...]:
        """The goals that are reached and should be practised within three days, the first one first."""
        soon = [goal for goal in self.goals if goal.due_in_days is not None and goal.due_in_days <= SOON_DAYS]
        return tuple(sorted(soon, key=lambda goal: goal.due_in_days or 0))

    @property
    def drawn(self) -> tuple[GoalProgress, ...]:
        """The goals of which there is enough to draw."""
        return tuple(goal for goal in self.goals if goal.now is not None and goal.then is not None)


SOON_DAYS = 3


def read_programme_progress(actor: Actor, programme_id: UUID, *, now: datetime) -> ProgrammeProgress:
    """Return how far a stay has come. Who may: whoever may read. Raises NotFound.

    The chances at the hand-over are those of this morning; today's are of now.
    """
    programme = programme_readable_by(actor, programme_id)
    known = know_dog(actor, programme)
    standings = standings_this_morning(actor, programme, known, now=now)
    goals = tuple(_goal(known, standing, now=now) for standing in standings)
    own, catalogue = {goal.behaviour.key for goal in goals}, load_catalogue()
    tried = dict.fromkeys(trial.behaviour for trial in known.trials if trial.behaviour not in own)
    others = [found for key in tried if (found := catalogue.find_behaviour(key)) is not None]
    return ProgrammeProgress(head_of(actor, programme, now=now), goals, tuple(others))


def _goal(known: Knowledge, standing: Standing, *, now: datetime) -> GoalProgress:
    behaviour, forecast = standing.behaviour, standing.forecast
    trials = [one for one in known.of(behaviour.key) if one.outcome is not Outcome.VOID]
    goal = behaviour.step_index(standing.target.key) or 0
    today = then = None
    if forecast.p is not None and forecast.low is not None and forecast.high is not None:
        then = PassChance(forecast.p, forecast.low, forecast.high)
        today = chance_today(cold_reading(known.arrived(now), behaviour.key, goal, now=now))
    return GoalProgress(
        behaviour=behaviour,
        target=standing.target,
        step=standing.step,
        n_trials=len(trials),
        n_days=len({local_day(one.at, known.state.zone) for one in trials}),
        now=today,
        then=then,
        due_in_days=standing.due_in_days,
        reason=forecast.reason,
    )
