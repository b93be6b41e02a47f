"""Filling a database with the invented scenario."""

from collections import Counter
from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from pupilage.core.access import Actor
from pupilage.core.simulation.earlier_stays import EarlierStay
from pupilage.core.simulation.scenario import Scenario
from pupilage.services.auditing import audit
from pupilage.services.open_workspace import NewWorkspace, open_workspace
from pupilage.services.save_change_plan import ChangePlanEntry, save_change_plan
from pupilage.services.write_earlier_stay import write_earlier_stay
from pupilage.services.write_scenario import Progress, count_entries, write_scenario
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme

PLAN_DAY = 6
"""Days from the arrival to the demo's plan against its commonest unwanted behaviour."""


def count_demo_entries(scenario: Scenario, earlier: Sequence[EarlierStay] = ()) -> int:
    """Return of how many entries `load_demo` tells its progress."""
    return count_entries(scenario) + sum(count_entries(one.scenario) for one in earlier)


def load_demo(
    scenario: Scenario,
    *,
    seed: int,
    now: datetime,
    earlier: Sequence[EarlierStay] = (),
    progress: Progress = lambda _done, _all: None,
) -> Actor:
    """Write a scenario into a workspace of its own and return its keeper. One transaction: all of it or nothing.

    earlier: stays that are over, the oldest first. The running one is written before them and so begins with what
    Pupilage expects of any pup: it is the same with them and without them.

    Who may: the command line on the machine itself. Not idempotent: each call opens another workspace.
    """
    n_all = count_demo_entries(scenario, earlier)
    with transaction.atomic():
        actor = open_workspace(
            NewWorkspace(
                name=scenario.household,
                username=scenario.trainer.lower(),
                display_name=scenario.trainer,
                timezone=scenario.timezone,
                invented=True,
            ),
            now=now,
        )
        programme_id = write_scenario(
            actor, scenario, begun_at=now, now=now, progress=lambda done, _: progress(done, n_all)
        )
        _write_plan(actor, programme_id, scenario, now=now)
        n_done = count_entries(scenario)
        for one in earlier:
            write_earlier_stay(actor, one)
            n_done += count_entries(one.scenario)
            progress(n_done, n_all)
        audit(actor, "load-demo", str(programme_id), now=now, seed=seed)
    return actor


def _write_plan(actor: Actor, programme_id: UUID, scenario: Scenario, *, now: datetime) -> None:
    """Begin a plan against what happens most, on the seventh day, with the catalogue's first two lines."""
    counts = Counter(one.behaviour for one in scenario.incidents if not one.left_it)
    if not counts:
        return
    commonest = max(counts, key=lambda key: counts[key])
    unwanted = load_catalogue().unwanted[commonest]
    entry = ChangePlanEntry(
        behaviour=commonest,
        starts_on=scenario.arrival_on + timedelta(days=PLAN_DAY),
        arrange=unwanted.arrange[:2],
        replacement=unwanted.replacement_behaviour or "",
    )
    dog_id = Programme.objects.values_list("dog_id", flat=True).get(id=programme_id, workspace_id=actor.workspace_id)
    save_change_plan(actor, dog_id, entry, now=now)
