"""Writing one invented stay through the same services as a trainer's own entries."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from itertools import zip_longest
from uuid import UUID

from pupilage.core.access import Actor
from pupilage.core.care.events import CareEvent, CareKind
from pupilage.core.care.exposures.log import Exposure, VetWord
from pupilage.core.clock import offset_min
from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.incidents.record import Incident
from pupilage.core.simulation.scenario import Scenario, ScenarioDog
from pupilage.core.training.record.events import Event, EventKind
from pupilage.services.change_day_frame import change_day_frame
from pupilage.services.log_absence import log_absence
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_exposure import ExposureEntry, log_exposure
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.services.log_weight import log_weight
from pupilage.services.note_vet_word import note_vet_word
from pupilage.services.record_events import MAX_EVENTS_A_CALL, Status, record_events
from pupilage.services.save_appointment import NewAppointment, save_appointment
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.services.start_programme import Intake, NewDog, NewReinforcer, start_programme
from pupilage.storage.models import Dog, Programme

Progress = Callable[[int, int], None]
"""Called with the number of entries written and of all entries."""


def write_scenario(
    actor: Actor,
    scenario: Scenario,
    *,
    begun_at: datetime,
    now: datetime,
    progress: Progress = lambda _done, _all: None,
) -> UUID:
    """Write a stay with its dogs and its log; return its id. Who may: whoever may write. Not idempotent.

    begun_at: when the intake was written, which for a stay that is over was on its first day.
    """
    programme_id = start_programme(actor, _intake(scenario), now=begun_at)
    goals = [GoalChoice(goal.behaviour, goal.step, goal.weight) for goal in scenario.goals]
    set_goals(actor, programme_id, goals, now=begun_at)
    _write_day(actor, programme_id, scenario, now=now)
    _write_dogs(actor, programme_id, scenario, now=now, progress=progress)
    return programme_id


def count_entries(scenario: Scenario) -> int:
    """Return how many entries `write_scenario` tells of."""
    return (
        sum(map(len, scenario.sessions)) + len(scenario.care_events) + len(scenario.incidents) + len(scenario.exposures)
    )


def _write_day(actor: Actor, programme_id: UUID, scenario: Scenario, *, now: datetime) -> None:
    change_day_frame(actor, programme_id, scenario.day, now=now)
    for one in scenario.appointments:
        given = NewAppointment(one.starts_at, one.ends_at, one.words, one.comes_along)
        save_appointment(actor, programme_id, given, now=now)


def _intake(scenario: Scenario) -> Intake:
    return Intake(
        household=scenario.household,
        pup=_new_dog(scenario.pup),
        arrival_on=scenario.arrival_on,
        handover_on=scenario.handover_on,
        family=scenario.family,
        resident=_new_dog(scenario.resident) if scenario.resident else None,
        vet_dates=tuple((date.on, date.what) for date in scenario.vet_dates),
        reinforcers=tuple(
            NewReinforcer(r.name, r.piece_g, r.kcal_per_100g, r.from_ration) for r in scenario.reinforcers
        ),
    )


def _new_dog(dog: ScenarioDog) -> NewDog:
    """Return the dog without a weight: its weighings have their own times."""
    return NewDog(
        name=dog.name,
        born_on=dog.born_on,
        sex=dog.sex,
        breed=dog.breed,
        expected_adult_weight_kg=dog.expected_adult_weight_kg,
        daily_food_g=dog.daily_food_g,
        food_kcal_per_100g=dog.food_kcal_per_100g,
        signs=dog.signs,
    )


def _write_dogs(actor: Actor, programme_id: UUID, scenario: Scenario, *, now: datetime, progress: Progress) -> None:
    pup = Programme.objects.select_related("dog").get(id=programme_id, workspace_id=actor.workspace_id).dog
    _write_weights(actor, pup, scenario.pup, now=now)
    if scenario.resident is not None:
        resident = Dog.objects.get(household_id=pup.household_id, is_resident=True)
        _write_weights(actor, resident, scenario.resident, now=now)
    n_all = count_entries(scenario)
    n_done = 0
    for batch in _batches(scenario.sessions, programme_id):
        _write_events(actor, batch, now=now)
        n_done += len(batch)
        progress(n_done, n_all)
    for care_event in scenario.care_events:
        log_care(actor, pup.id, _care_entry(care_event, actor), now=now)
        n_done += 1
        progress(n_done, n_all)
    for incident in scenario.incidents:
        log_incident(actor, pup.id, _incident_entry(incident), now=now)
    for absence in scenario.absences:
        log_absence(actor, pup.id, absence, now=now)
    for entry in scenario.exposures:
        _write_exposure(actor, pup.id, entry, now=now)
    progress(n_all, n_all)


def _write_exposure(actor: Actor, dog_id: UUID, entry: Exposure | VetWord, *, now: datetime) -> None:
    if isinstance(entry, VetWord):
        note_vet_word(actor, dog_id, entry.topic, event_id=UUID(entry.id), at=entry.at, now=now)
        return
    given = ExposureEntry(
        item=entry.item,
        at=entry.at,
        intensity=entry.intensity,
        response=entry.response,
        distance_m=entry.distance_m,
        recovery_s=entry.recovery_s,
        with_food=entry.with_food,
        note=entry.note,
        event_id=UUID(entry.id),
        tz_offset_min=offset_min(entry.at, actor.zone),
    )
    log_exposure(actor, dog_id, given, now=now)


def _write_weights(actor: Actor, dog: Dog, written: ScenarioDog, *, now: datetime) -> None:
    for (at, weight_kg), condition in zip_longest(written.weights, written.conditions):
        log_weight(actor, dog.id, weight_kg, at=at, now=now, body_condition=condition)


def _batches(sessions: Sequence[Sequence[Event]], programme_id: UUID) -> Iterator[list[Event]]:
    """Return whole sessions together, as many as one call takes; a longer session is split."""
    batch: list[Event] = []
    for events in sessions:
        if batch and len(batch) + len(events) > MAX_EVENTS_A_CALL:
            yield batch
            batch = []
        batch += [_of_programme(event, programme_id) for event in events]
        while len(batch) > MAX_EVENTS_A_CALL:
            yield batch[:MAX_EVENTS_A_CALL]
            batch = batch[MAX_EVENTS_A_CALL:]
    if batch:
        yield batch


def _of_programme(event: Event, programme_id: UUID) -> Event:
    """Return the event, with this programme where it starts a session: the scenario cannot know its id."""
    if event.kind is not EventKind.SESSION_STARTED:
        return event
    return replace(event, payload={**event.payload, "programme": str(programme_id)})


def _write_events(actor: Actor, batch: Sequence[Event], *, now: datetime) -> None:
    verdicts = record_events(actor, batch, now=now)
    refused = [verdict for verdict in verdicts if verdict.status is not Status.STORED]
    if refused:
        raise InvalidInput(
            Problem("scenario", "Event {id} was not stored: {reason}", id=v.event_id, reason=str(v.reason))
            for v in refused
        )


def _care_entry(event: CareEvent, actor: Actor) -> CareEntry:
    if event.kind is CareKind.WITHDRAWN:
        raise InvalidInput.of("scenario", "A scenario's care log takes nothing back; leave the entry out.")
    return CareEntry(
        kind=event.kind,
        at=event.at,
        detail=event.detail,
        amount_g=event.amount_g,
        note=event.note,
        event_id=UUID(event.id),
        tz_offset_min=offset_min(event.at, actor.zone),
    )


def _incident_entry(incident: Incident) -> IncidentEntry:
    return IncidentEntry(
        behaviour=incident.behaviour,
        at=incident.at,
        place=incident.place,
        antecedent=incident.antecedent,
        consequence=incident.consequence,
        people_did=incident.people_did,
        supervised=incident.supervised,
        note=incident.note,
        before=incident.before,
        gained=incident.gained,
        left_it=incident.left_it,
        slip=incident.slip,
        teeth=incident.teeth,
        near_miss=incident.near_miss,
        in_charge=incident.in_charge,
        between=incident.between,
    )
