"""What the pages of paid stretches show: a pup's runs, what one could start from, and one run."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.catalogue.behaviour import Behaviour, Scoring, UnwantedBehaviour
from pupilage.core.incidents.interval_runs import RunEvent, RunState, Spacing
from pupilage.core.incidents.intervals import PaidInterval, first_interval
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.timed_targets import UNSUITED, say_too_rare
from pupilage.core.words import Sentence
from pupilage.services.read_incidents import read_incidents
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import IntervalRun
from pupilage.storage.queries.dogs import dog_readable_by
from pupilage.storage.queries.interval_runs import list_run_events, list_runs, run_readable_by, state_of

LEAST_INCIDENTS = 3
"""Fewer than these in the log make no mean time between two worth a first interval (an assumption)."""

N_RUNS = 20


@dataclass(frozen=True)
class Baseline:
    """How often the chosen behaviour came in the free hours of the log. too_rare: advice, where it comes too seldom."""

    n: int
    minutes: float
    first: PaidInterval
    too_rare: Sentence | None


@dataclass(frozen=True)
class RunPage:
    """One run: what is paid, how it is spaced, its events, and where it stands."""

    id: UUID
    dog_id: UUID
    dog: str
    target: str
    unwanted: UnwantedBehaviour | None
    behaviour: Behaviour | None
    spacing: Spacing
    first_mean_s: float
    seed: str
    made_at: datetime
    baseline_n: int
    baseline_min: float
    baseline_from_log: bool
    events: tuple[RunEvent, ...]
    state: RunState

    @property
    def name(self) -> str:
        """The behaviour's name; its key where it has left the catalogue."""
        found = self.unwanted or self.behaviour
        return found.name if found else self.target


@dataclass(frozen=True)
class RunsPage:
    """A pup's runs, and what one could start with. baseline: of the chosen one, None where the log is too thin."""

    dog_id: UUID
    dog: str
    targets: Mapping[str, str]
    chosen: str
    unsuited: Sentence | None
    baseline: Baseline | None
    n_logged: int
    runs: tuple[RunPage, ...]


def read_interval_runs(actor: Actor, dog_id: UUID, *, target: str = "", now: datetime) -> RunsPage:
    """Return a dog's newest runs and what a run of `target` could start from. Who may: whoever may read.

    Raises NotFound for an unknown dog.
    """
    dog = dog_readable_by(actor, dog_id)
    runs = list_runs(actor, dog, limit=N_RUNS)
    events = list_run_events(runs)
    targets = _targets()
    chosen = target if target in targets else next(iter(targets))
    answers = read_incidents(actor, dog_id, behaviour=chosen, now=now).answers
    n_inside = answers.n - answers.n_outside if answers else 0
    return RunsPage(
        dog_id=dog.id,
        dog=dog.name,
        targets=targets,
        chosen=chosen,
        unsuited=UNSUITED.get(target),
        baseline=_baseline(n_inside, 60.0 * answers.hours) if answers else None,
        n_logged=n_inside,
        runs=tuple(_page(run, events[run.id]) for run in runs),
    )


def read_interval_run(actor: Actor, run_id: UUID) -> RunPage:
    """Return one run. Who may: whoever may read. Raises NotFound."""
    run = run_readable_by(actor, run_id)
    return _page(run, list_run_events([run])[run.id])


def _targets() -> dict[str, str]:
    """Return what can be timed by its name: unwanted behaviours, then the ones that last."""
    catalogue = load_catalogue()
    unwanted = {one.key: one.name for one in catalogue.unwanted.values() if one.key not in UNSUITED}
    lasting = {one.key: one.name for one in catalogue.behaviours.values() if one.scoring is Scoring.HOLD}
    return unwanted | lasting


def _baseline(n: int, minutes: float) -> Baseline | None:
    if n < LEAST_INCIDENTS or minutes <= 0.0:
        return None
    return Baseline(n, minutes, first_interval(Tally(n, minutes)), say_too_rare(minutes / n))


def _page(run: IntervalRun, events: list[RunEvent]) -> RunPage:
    catalogue = load_catalogue()
    return RunPage(
        id=run.id,
        dog_id=run.dog_id,
        dog=run.dog.name,
        target=run.target,
        unwanted=catalogue.find_unwanted(run.target),
        behaviour=catalogue.find_behaviour(run.target),
        spacing=Spacing(run.spacing),
        first_mean_s=run.first_mean_s,
        seed=run.seed,
        made_at=run.made_at,
        baseline_n=run.baseline_n,
        baseline_min=run.baseline_min,
        baseline_from_log=run.baseline_from_log,
        events=tuple(events),
        state=state_of(run, events),
    )
