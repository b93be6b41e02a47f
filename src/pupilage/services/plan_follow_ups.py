"""The follow-ups of a stay, chosen by forecast retention, with what the family told of each."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta

from pupilage.core.access import Scope
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.handover.family_log import Entry, standing
from pupilage.core.handover.follow_up import FollowUp, choose_behaviours, plan_follow_ups
from pupilage.core.handover.places import Standing, count_by_place
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.reading import Reading
from pupilage.core.training.posterior.retention import cold_reading
from pupilage.services.know_dog import know_dog
from pupilage.services.log_family_entry import shown_goals
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Programme

NOON_H = 12

KeptSteps = dict[str, tuple[Behaviour, int]]
"""Behaviours that work somewhere, each with the step (from 0) of which the forecast speaks."""


def follow_ups_of(
    scope: Scope, programme: Programme, entries: Sequence[Entry], *, now: datetime, steps: KeptSteps | None = None
) -> tuple[FollowUp, ...]:
    """Return the four follow-ups of a stay. The caller has asked whether whoever asks may read it.

    steps: of `kept_steps`, where they are known already.
    """
    known = know_dog(scope, programme)
    steps = kept_steps(scope, programme) if steps is None else steps

    def forecast(key: str, day: date) -> float:
        return read_cold(known, key, steps[key][1], day=day, now=now).mean

    chosen = choose_behaviours(list(steps), forecast, handover_on=programme.handover_on)
    today = local_day(now, scope.zone)
    return plan_follow_ups(chosen, standing(entries), handover_on=programme.handover_on, today=today)


def kept_steps(scope: Scope, programme: Programme) -> KeptSteps:
    """Return, of each goal that the family is shown and that works somewhere, the step of which the forecast speaks.

    It is the hardest one met at a place where the behaviour works, at most the goal: as in the pack.
    """
    known, catalogue = know_dog(scope, programme), load_catalogue()
    found: KeptSteps = {}
    for key, target in shown_goals(programme).items():
        behaviour = catalogue.find_behaviour(key)
        if behaviour is None:
            continue
        places = count_by_place(behaviour, target, known.of(key))
        works = [behaviour.step_index(one.step) for one in places if one.step and one.standing is Standing.WORKS]
        steps = [step for step in works if step is not None]
        if steps:
            goal = behaviour.step_index(target)
            found[key] = (behaviour, min(max(steps), len(behaviour.steps) - 1 if goal is None else goal))
    return found


def read_cold(known: Knowledge, key: str, step: int, *, day: date, now: datetime) -> Reading:
    """Return the forecast of a cold try at noon of a day, never before the newest trial."""
    noon = day_bounds(day, known.state.zone)[0] + timedelta(hours=NOON_H)
    last = known.trials[-1].at if known.trials else now
    reading: Reading = known.keep(
        ("cold", key, step, max(noon, last)),
        lambda: cold_reading(known.state, key, step, now=max(noon, last)),
    )
    return reading
