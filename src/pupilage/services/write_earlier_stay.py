"""Writing an invented stay that is over: its record, the family's lesson, its link, and the weeks after."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID

from pupilage.core.access import Actor, FamilyGuest
from pupilage.core.clock import day_bounds
from pupilage.core.handover.family_log import EntryKind
from pupilage.core.handover.follow_up import N_TRIES
from pupilage.core.simulation.aftercare import Aftercare, Answer
from pupilage.core.simulation.earlier_stays import EarlierStay
from pupilage.services.log_family_entry import FamilyTap, log_family_entry
from pupilage.services.plan_follow_ups import follow_ups_of
from pupilage.services.read_after_handover import note_family_call
from pupilage.services.read_lesson import Tick, change_lesson_item, read_lesson
from pupilage.services.save_family_page import Choices, save_family_choices
from pupilage.services.save_handover_words import FamilyWords, save_handover_words
from pupilage.services.share_family_page import NewLink, make_family_link, open_family_link
from pupilage.services.write_scenario import write_scenario
from pupilage.storage.queries.programmes import programme_readable_by

N_LEFT_OPEN = 2
"""Lines of the lesson's list that nobody came to."""


def write_earlier_stay(actor: Actor, stay: EarlierStay) -> UUID:
    """Write a stay as it came, each entry at its own time, and return its id. Who may: the command line.

    Not idempotent: it begins another stay.
    """
    scenario = stay.scenario
    begun_at = day_bounds(scenario.arrival_on, actor.zone)[0] + timedelta(hours=9)
    programme_id = write_scenario(actor, scenario, begun_at=begun_at, now=stay.handed_over_at)
    save_handover_words(actor, programme_id, FamilyWords(stay.release_word, note=stay.note), now=stay.handed_over_at)
    if stay.aftercare is not None:
        _write_lesson(actor, programme_id, stay)
        _write_weeks(actor, programme_id, stay, stay.aftercare)
    return programme_id


def _write_lesson(actor: Actor, programme_id: UUID, stay: EarlierStay) -> None:
    """Tick what the family did themselves, a minute or two apart, and write a line of the trainer's own."""
    now = stay.handed_over_at
    items = read_lesson(actor, programme_id, now=now).items
    for item in items[:-N_LEFT_OPEN]:
        change_lesson_item(actor, programme_id, Tick(key=item.key, by=stay.first_name, done=True), now=now)
    own = Tick(words=stay.own_item, by=stay.first_name, done=True)
    change_lesson_item(actor, programme_id, own, now=now)


def _write_weeks(actor: Actor, programme_id: UUID, stay: EarlierStay, after: Aftercare) -> None:
    now = stay.handed_over_at
    save_family_choices(actor, programme_id, Choices(words=stay.family_words), now=now)
    token = make_family_link(actor, programme_id, NewLink(for_whom=stay.first_name, may_write=True), now=now)
    guest = open_family_link(token, now=now)
    for one in after.told:
        tap = FamilyTap(one.kind, one.at, subject=one.subject, n_met=one.n_met, n=one.n, note=one.note)
        log_family_entry(guest, tap, now=one.at)
    for call in after.calls:
        note_family_call(actor, programme_id, call.words, now=call.at)
    _answer(actor, guest, programme_id, after.answers, now=now)


def _answer(actor: Actor, guest: FamilyGuest, programme_id: UUID, answers: Iterable[Answer], *, now: datetime) -> None:
    """Write down what worked of the cues that each follow-up asks for."""
    programme = programme_readable_by(actor, programme_id)
    asked = {one.week: one.tried for one in follow_ups_of(actor, programme, (), now=now)}
    for answer in answers:
        for tried, n_met in zip(asked[answer.week], answer.n_met, strict=False):  # fewer cues where less works yet
            tap = FamilyTap(EntryKind.CUE, answer.at, tried.behaviour, n_met, N_TRIES, week=answer.week)
            log_family_entry(guest, tap, now=answer.at)
