"""Starting a run with the timer of paid stretches."""

import math
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.errors import Conflict, InvalidInput, Problem
from pupilage.core.incidents.interval_runs import Spacing
from pupilage.core.incidents.intervals import first_interval
from pupilage.core.incidents.rates import Tally
from pupilage.core.incidents.timed_targets import UNSUITED
from pupilage.services.auditing import audit
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import IntervalRun
from pupilage.storage.queries.dogs import dog_writable_by

MAX_COUNT = 10_000
MAX_BASELINE_MIN = 100_000.0


@dataclass(frozen=True)
class RunStart:
    """What a run starts with: how often the behaviour came in how many minutes watched without a timer.

    from_log: counted by the log of incidents and free hours. run_id: chosen by the page, so that sending it twice
    starts one run.
    """

    target: str
    spacing: Spacing
    n: int
    minutes: float
    from_log: bool = False
    run_id: UUID | None = None


def start_interval_run(actor: Actor, dog_id: UUID, start: RunStart, *, now: datetime) -> UUID:
    """Store a run and return its id; its time begins with the first tap on its page.

    Who may: whoever may write. Idempotent by run_id. Raises InvalidInput with all problems at once.
    """
    dog = dog_writable_by(actor, dog_id)
    problems = _problems(start)
    if problems:
        raise InvalidInput(problems)
    first = first_interval(Tally(start.n, start.minutes))
    with transaction.atomic():
        run, made = IntervalRun.objects.get_or_create(
            id=start.run_id or uuid4(),
            defaults={
                "workspace_id": actor.workspace_id,
                "dog": dog,
                "target": start.target,
                "spacing": start.spacing.value,
                "first_mean_s": round(first.seconds, 1),
                "seed": uuid4().hex,
                "baseline_n": start.n,
                "baseline_min": start.minutes,
                "baseline_from_log": start.from_log,
                "made_at": now,
            },
        )
        if run.workspace_id != actor.workspace_id or run.dog_id != dog.id:
            raise Conflict("This run's id belongs to another run; open the page anew.")
        if made:
            audit(actor, "start-interval-run", str(run.id), now=now, target=start.target)
    return run.id


def _problems(start: RunStart) -> list[Problem]:
    problems = []
    catalogue = load_catalogue()
    unsuited = UNSUITED.get(start.target)
    if unsuited is not None:
        problems.append(Problem("target", unsuited.template))
    elif catalogue.find_unwanted(start.target) is None and catalogue.find_behaviour(start.target) is None:
        problems.append(Problem("target", "“{key}” is not in the catalogue; choose one of it.", key=start.target))
    if not 0 < start.n <= MAX_COUNT:
        problems.append(
            Problem(
                "n", "It has to have come at least once in the count; where it never comes there is nothing to time."
            )
        )
    if not (math.isfinite(start.minutes) and 0.0 < start.minutes <= MAX_BASELINE_MIN):
        problems.append(Problem("minutes", "Give the minutes that were watched, such as 10."))
    return problems
