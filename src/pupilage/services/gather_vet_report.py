"""All that a report for a veterinarian says, read from the record. Nothing is written."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.exposures.log import LogEntry, standing_exposures, vet_words
from pupilage.core.clock import day_bounds, local_day
from pupilage.core.incidents.phases import PhaseKind
from pupilage.core.incidents.record import Incident
from pupilage.core.incidents.stretches import Stretch, hours_of
from pupilage.core.incidents.waking import free_time
from pupilage.core.vet_report.facts import (
    Arranged,
    BehaviourRecord,
    ItemRecord,
    Part,
    Period,
    VetReportFacts,
    count_meals,
    count_toilet,
    record_incidents,
)
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.exposure_files import read_exposure_files
from pupilage.storage.models import AloneAdvice, Dog, Workspace
from pupilage.storage.queries.absences import list_absences
from pupilage.storage.queries.change_plans import list_plan_phases
from pupilage.storage.queries.dogs import dog_readable_by, list_care_events
from pupilage.storage.queries.exposures import list_exposure_log
from pupilage.storage.queries.food import list_weighings
from pupilage.storage.queries.incidents import list_incidents
from pupilage.storage.queries.programmes import find_programme_of

USUAL = timedelta(days=55)
"""Eight weeks back, where the dog has no stay."""


def usual_period(actor: Actor, dog_id: UUID, *, now: datetime) -> Period:
    """Return the days of a dog's newest stay up to today, else the last eight weeks. Who may: whoever may read."""
    dog = dog_readable_by(actor, dog_id)
    today, stay = local_day(now, actor.zone), find_programme_of(actor, dog.id)
    first = today - USUAL if stay is None else min(stay.arrival_on, today)
    return Period(max(first, today - timedelta(days=365)), today)


def gather_vet_report(
    actor: Actor, dog_id: UUID, period: Period, *, left_out: frozenset[Part] = frozenset(), now: datetime
) -> VetReportFacts:
    """Return all that the report of a dog and a period says; what is left out is not even read.

    Who may: whoever may read. Raises NotFound for an unknown dog.
    """
    dog, zone = dog_readable_by(actor, dog_id), actor.zone
    start, end = day_bounds(period.first, zone)[0], day_bounds(period.last, zone)[1]
    events = list_care_events(dog, since=start, until=min(end, now + timedelta(seconds=1)))
    free = free_time(events, zone)
    log = list_exposure_log(actor, dog)
    found = VetReportFacts(
        dog=dog.name,
        sex=dog.sex,
        breed=dog.breed,
        born_on=dog.born_on,
        trainer=Workspace.objects.get(id=actor.workspace_id).name,
        made_on=local_day(now, zone),
        period=period,
        zone=zone,
        left_out=left_out,
        signs="" if Part.VET in left_out else dog.signs,
        watched_h=hours_of(free),
        n_days_watched=len({local_day(one.start, zone) for one in free}),
    )
    parts: dict[str, object] = {}
    if found.has(Part.VET):
        dates = dog.vet_dates.filter(on__lte=max(period.last, found.made_on)).order_by("on", "id")
        parts["vet_dates"] = tuple((row.on, row.what) for row in dates)
        parts["vet_words"] = tuple((word.at, topic) for topic, word in vet_words(log).items())
        parts["advice"] = _advice(dog, end)
    if found.has(Part.INCIDENTS):
        own = [one for one in list_incidents(dog) if period.holds(one.at, zone)]
        parts["behaviours"] = _behaviours(actor, own, free)
    if found.has(Part.WEIGHT):
        parts |= {
            "weighings": tuple(one for one in list_weighings(dog) if period.holds(one.at, zone)),
            "food_name": dog.food_name,
            "daily_g": dog.daily_food_g,
            "meals": count_meals(events, zone),
        }
    if found.has(Part.TOILET):
        parts["toilet"] = count_toilet(events, zone)
    if found.has(Part.ALONE):
        parts["absences"] = tuple(one for one in list_absences(dog) if period.holds(one.at, zone))
    if found.has(Part.EXPOSURES):
        parts["met"] = _met(actor, log, period)
    if found.has(Part.ARRANGED):
        parts["arranged"] = _arranged(dog, period)
    return VetReportFacts(**{**vars(found), **parts})


def _advice(dog: Dog, end: datetime) -> tuple[tuple[datetime, str], ...]:
    rows = AloneAdvice.objects.filter(dog=dog, workspace_id=dog.workspace_id, taken_back_at=None, at__lt=end)
    return tuple(rows.order_by("at", "id").values_list("at", "words"))


def _behaviours(actor: Actor, incidents: Sequence[Incident], free: Sequence[Stretch]) -> tuple[BehaviourRecord, ...]:
    """Return the behaviours that were written down, the commonest first; a key of old goes by its key."""
    found = []
    for key in dict.fromkeys(one.behaviour for one in incidents):
        unwanted = load_catalogue().find_unwanted(key)
        name, definition = (unwanted.name, unwanted.definition) if unwanted else (key, "")
        own = [one for one in incidents if one.behaviour == key]
        found.append(record_incidents(name, definition, own, free, actor.zone))
    return tuple(sorted(found, key=lambda one: (-one.n_happened, one.name)))


def _met(actor: Actor, log: Sequence[LogEntry], period: Period) -> tuple[ItemRecord, ...]:
    catalogue = read_exposure_files().catalogue
    met = [one for one in standing_exposures(log) if period.holds(one.at, actor.zone)]
    found = []
    for key in dict.fromkeys(one.item for one in met):
        item = catalogue.find(key)
        found.append(ItemRecord(item.name if item else key, tuple(one for one in met if one.item == key)))
    return tuple(sorted(found, key=lambda one: one.name))


def _arranged(dog: Dog, period: Period) -> tuple[Arranged, ...]:
    """Return the phases that began by the end of the period, in time order; those before it may have gone on."""
    catalogue = load_catalogue()
    found = []
    for key, phases in list_plan_phases(dog).items():
        unwanted = catalogue.find_unwanted(key)
        for phase in phases:
            if phase.starts_on <= period.last and not (
                phase.kind is PhaseKind.ENDED and phase.starts_on < period.first
            ):
                instead = catalogue.find_behaviour(phase.replacement)
                found.append(Arranged(unwanted.name if unwanted else key, phase, instead.name if instead else ""))
    return tuple(sorted(found, key=lambda one: (one.phase.starts_on, one.behaviour)))
