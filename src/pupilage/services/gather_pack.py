"""All that a hand-over pack says, read from the record. Nothing is written."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor, Scope
from pupilage.core.care.food.energy import compare_methods
from pupilage.core.care.food.growth import typical_weight
from pupilage.core.care.food.meals import meal_rule, meals_at
from pupilage.core.care.food.pup import Pup
from pupilage.core.care.toilet.outlook import outing_limits, outing_limits_at
from pupilage.core.care.toilet.record import has_curve, read_log
from pupilage.core.catalogue.behaviour import Behaviour
from pupilage.core.clock import age_weeks, day_bounds, local_day
from pupilage.core.errors import InvalidInput
from pupilage.core.handover.facts import (
    AloneFacts,
    FoodFacts,
    FoodWeek,
    GoalFacts,
    OutingFacts,
    PackFacts,
    UnwantedFacts,
)
from pupilage.core.handover.places import count_by_place
from pupilage.core.handover.weeks import N_WEEKS, Span, grow_absences, grow_slowly, plan_upkeep, weeks_from
from pupilage.core.incidents.absences import told_by
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.phases import PhaseKind
from pupilage.core.training.posterior.knowledge import Knowledge
from pupilage.core.training.posterior.state import at_moment
from pupilage.core.training.rewards.paying import is_sure
from pupilage.core.training.rewards.thinning import thin
from pupilage.services.know_dog import know_dog
from pupilage.services.read_care_panel import LEARNED_FROM
from pupilage.services.read_ration import basis_kcal, pup_of
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Dog, HandoverWords, Programme, Workspace
from pupilage.storage.queries.absences import last_advice, list_absences
from pupilage.storage.queries.change_plans import list_plan_phases
from pupilage.storage.queries.day_plans import preferences_of
from pupilage.storage.queries.dogs import list_care_events
from pupilage.storage.queries.food import list_weighings
from pupilage.storage.queries.incidents import list_incidents
from pupilage.storage.queries.programmes import list_goals, outing_risk_of, programme_readable_by

LATELY = timedelta(days=14)
USUAL_UNWANTED = ("house-soiling", "mouthing-hands", "jumping-up")
"""What nearly every young pup does, for a record without incidents (common practice, no source)."""


def gather_pack(actor: Actor, programme_id: UUID, *, now: datetime) -> PackFacts:
    """Return all that a stay's pack says. Who may: whoever may read. Raises NotFound."""
    return facts_of(actor, programme_readable_by(actor, programme_id), now=now)


def facts_of(scope: Scope, programme: Programme, *, now: datetime, n_weeks: int = N_WEEKS) -> PackFacts:
    """Return all that can be said of a stay. The caller has asked whether whoever asks may read it.

    n_weeks: how many weeks after the hand-over are planned; with 0, nothing that is only asked for by the plan is.
    The plan of a stay that is over is read as of the day of its hand-over: what the pup weighed and did then is what
    its weeks begin with. Without a plan, outings and food are what that plan says of the present week.
    """
    dog, spans = programme.dog, weeks_from(programme.handover_on, n_weeks)
    made_on, left_on = local_day(now, scope.zone), programme.handover_on
    seen_at = min(now, day_bounds(left_on, scope.zone)[1] - timedelta(seconds=1))
    if n_weeks:
        now = seen_at
    workspace = Workspace.objects.get(id=scope.workspace_id)
    words = HandoverWords.objects.filter(programme=programme).first() or HandoverWords()
    outings = _outings(scope, dog, spans, left_on=left_on, seen_at=seen_at, now=now)
    food = _food(scope, dog, spans, left_on=left_on, seen_at=seen_at, now=now)
    day = preferences_of(programme)
    return PackFacts(
        dog=dog.name,
        family=programme.family.name if programme.family else "",
        trainer=workspace.name,
        handover_on=programme.handover_on,
        made_on=made_on,
        goals=_goals(scope, programme, now=now, planned=n_weeks > 0),
        outings=outings,
        alone=_alone(scope, dog, spans, outings, now=now),
        food=food,
        wake=day.wake,
        last_outing=day.last_outing,
        meals=day.meals,
        unwanted=_unwanted(dog, now=now),
        residents=_residents(scope, programme),
        vet_dates=tuple((row.on, row.what) for row in dog.vet_dates.order_by("on")),
        vet_phone=workspace.vet_phone,
        poison_phone=workspace.poison_phone,
        signs=dog.signs,
        release_word=words.release_word,
        house_rules=tuple(line.strip() for line in words.house_rules.splitlines() if line.strip()),
        note=words.note,
    )


def _goals(scope: Scope, programme: Programme, *, now: datetime, planned: bool) -> tuple[GoalFacts, ...]:
    known, catalogue = know_dog(scope, programme), load_catalogue()
    found = [(goal, catalogue.find_behaviour(goal.behaviour)) for goal in list_goals(programme)]
    return tuple(
        _goal(known, behaviour, goal.step, programme.handover_on if planned else None, now=now)
        for goal, behaviour in found
        if behaviour is not None
    )


def _goal(known: Knowledge, behaviour: Behaviour, target: str, handover_on: date | None, *, now: datetime) -> GoalFacts:
    """Return what the tries say of one goal; a step that the catalogue no longer has gives way to the usual goal."""
    goal = behaviour.step_index(target)
    place = goal if goal is not None else behaviour.step_index(behaviour.target) or 0
    step, trials, zone = behaviour.steps[place], known.of(behaviour.key), known.state.zone
    facts = GoalFacts(
        behaviour=behaviour,
        target=step,
        places=count_by_place(behaviour, step.key, trials),
        n_trials=len(trials),
        days=(local_day(trials[0].at, zone), local_day(trials[-1].at, zone)) if trials else None,
        level=thin(behaviour, step.key, trials, session_id="", zone=zone).level,
        sure=bool(trials) and is_sure(at_moment(known.state, behaviour.key, now=now), place),
        upkeep=None,
    )
    if facts.known is None or handover_on is None:
        return facts
    upkeep = plan_upkeep(known.state, behaviour, min(facts.known, place), now=now, from_day=handover_on)
    return replace(facts, upkeep=upkeep)


def _outings(
    scope: Scope, dog: Dog, spans: tuple[Span, ...], *, left_on: date, seen_at: datetime, now: datetime
) -> OutingFacts | None:
    """Return the limits of now and of the weeks planned, from the log up to the hand-over at most (seen_at)."""
    if not has_curve(age_weeks(dog.born_on, local_day(now, scope.zone))):
        return None
    events, risk = list_care_events(dog, since=seen_at - LEARNED_FROM, until=seen_at), outing_risk_of(dog)
    record = read_log(events, born_on=dog.born_on, zone=scope.zone, now=seen_at)

    def awake_by_week(weeks: Sequence[Span]) -> tuple[int, ...]:
        later = [outing_limits_at(record, risk, at=day_bounds(one.first, scope.zone)[0]).awake_min for one in weeks]
        return grow_slowly([outing_limits(record, risk).awake_min, *later])[1:]

    today, awake_min = outing_limits(record, risk), None
    if now > seen_at:
        weeks = weeks_from(left_on, (local_day(now, scope.zone) - left_on).days // 7 + 1)
        today, awake_min = outing_limits_at(record, risk, at=now), awake_by_week(weeks)[-1]
    return OutingFacts(
        awake_min=today.awake_min if awake_min is None else min(today.awake_min, awake_min),
        resting_min=today.resting_min,
        night_min=today.night_min,
        weeks_min=awake_by_week(spans),
        n_outings=record.n_outings,
        risk=risk,
    )


def _alone(
    scope: Scope, dog: Dog, spans: tuple[Span, ...], outings: OutingFacts | None, *, now: datetime
) -> AloneFacts:
    records, advice = list_absences(dog), last_advice(dog)
    counted = [one for one in records if advice is None or one.at > advice[0]]
    told = told_by(counted)
    starts = [max(now, day_bounds(span.first, scope.zone)[0]) for span in spans]
    limits = [24 * 60] * len(spans) if outings is None else outings.weeks_min
    weeks_s = grow_absences(
        told,
        starts=starts,
        age_weeks_at=lambda at: age_weeks(dog.born_on, local_day(at, scope.zone)),
        ceiling_s=[60.0 * minutes for minutes in limits],
    )
    calm = [one.seconds for one in told if one.sign is Sign.NONE]
    return AloneFacts(weeks_s, len(told), max(calm, default=None), any(one.is_panic for one in counted))


def _food(
    scope: Scope, dog: Dog, spans: tuple[Span, ...], *, left_on: date, seen_at: datetime, now: datetime
) -> FoodFacts:
    today, weighings = local_day(now, scope.zone), list_weighings(dog)
    pup, _ = pup_of(dog, weighings, local_day(seen_at, scope.zone))
    rule = None if pup is None else meal_rule(pup)
    n_meals = meals_at(age_weeks(dog.born_on, today)) if rule is None else rule.n_meals
    grown = None
    if now > seen_at:
        week = weeks_from(left_on, (today - left_on).days // 7 + 1)[-1]
        grown = _food_week(dog, pup, week.first).grams
        n_meals = min(n_meals, meals_at(age_weeks(dog.born_on, today))) if rule is None or not rule.caution else n_meals
    last = weighings[-1] if weighings else None
    return FoodFacts(
        name=dog.food_name,
        daily_g=dog.daily_food_g if grown is None else grown,
        n_meals=n_meals,
        weighing=None if last is None else (last.weight_kg, local_day(last.at, scope.zone)),
        caution=None if rule is None else rule.caution,
        weeks=tuple(_food_week(dog, pup, span.first) for span in spans),
    )


def _food_week(dog: Dog, pup: Pup | None, day: date) -> FoodWeek:
    """Return a week's weight and ration: the pup keeps to its own line beside the usual growth (`core.care.food`)."""
    if pup is None or pup.adult_weight_kg is None:
        return FoodWeek(None, None)
    age = age_weeks(dog.born_on, day)
    usual_now = typical_weight(pup.age_weeks, pup.adult_weight_kg).weight_kg
    line = pup.weight_kg / usual_now
    weight_kg = min(pup.adult_weight_kg, line * typical_weight(age, pup.adult_weight_kg).weight_kg)
    weight_kg = max(weight_kg, pup.weight_kg)
    try:
        later = Pup(age, weight_kg, pup.adult_weight_kg, pup.adult_from)
    except InvalidInput:
        return FoodWeek(weight_kg, None)
    return FoodWeek(weight_kg, _grams(dog, pup, later))


def _grams(dog: Dog, pup: Pup, later: Pup) -> float | None:
    """Return the ration of today, moved by as much as the energy of the method in use moves."""
    before, after = (basis_kcal(dog, compare_methods(one)) for one in (pup, later))
    if dog.daily_food_g is None or before is None or after is None:
        return None
    return dog.daily_food_g * after / before


def _unwanted(dog: Dog, *, now: datetime) -> tuple[UnwantedFacts, ...]:
    catalogue, plans = load_catalogue(), list_plan_phases(dog)
    incidents = [one for one in list_incidents(dog) if not one.left_it and not one.near_miss]
    ever = Counter(one.behaviour for one in incidents)
    lately = Counter(one.behaviour for one in incidents if now - LATELY <= one.at <= now)
    standing = {key: phases[-1] for key, phases in plans.items() if phases[-1].kind is PhaseKind.PLAN}
    keys = [*standing, *(key for key, _ in ever.most_common() if key not in standing)] or list(USUAL_UNWANTED)
    found = [(key, catalogue.find_unwanted(key)) for key in keys]
    return tuple(
        UnwantedFacts(
            unwanted=unwanted,
            arrange=standing[key].arrange if key in standing and standing[key].arrange else unwanted.arrange,
            replacement=catalogue.find_behaviour(
                (standing[key].replacement if key in standing else "") or unwanted.replacement_behaviour or ""
            ),
            n_lately=lately[key],
            planned=key in standing,
        )
        for key, unwanted in found
        if unwanted is not None
    )


def _residents(scope: Scope, programme: Programme) -> tuple[str, ...]:
    """Return the dogs of the family where it has any on record, else none: the trainer's own stay behind."""
    if programme.family_id is None:
        return ()
    rows = Dog.objects.filter(workspace_id=scope.workspace_id, household_id=programme.family_id, is_resident=True)
    return tuple(rows.exclude(id=programme.dog_id).order_by("name").values_list("name", flat=True))
