"""The weeks after the hand-over, through the services: what was told, who needs a call, the lesson before."""

from datetime import timedelta
from uuid import uuid4

import pytest

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.errors import Forbidden, InvalidInput, NotFound
from pupilage.core.evaluation.codings import Entry as CodingEntry
from pupilage.core.evaluation.codings import EntryKind as Mark
from pupilage.core.handover.calls import Reason
from pupilage.core.handover.family_log import EntryKind
from pupilage.core.handover.follow_up import FollowUpState
from pupilage.services.keep_coding import CodingGiven, Subject, keep_coding
from pupilage.services.log_care import CareEntry, log_care
from pupilage.services.log_family_entry import FamilyTap, log_family_entry, log_told_entry
from pupilage.services.read_after_handover import list_families_to_call, note_family_call, read_after_handover
from pupilage.services.read_lesson import Tick, change_lesson_item, read_lesson, say_who_is_family
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.services.share_family_page import NewLink, make_family_link, open_family_link
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import FamilyEntry, LessonItem

HANDOVER = timedelta(days=12)
"""From the tests' moment to noon of the day after the hand-over."""


@pytest.fixture
def behaviour(actor, programme, new_session):
    """A behaviour that works at its first step in a quiet room."""
    found = next(iter(load_catalogue().behaviours.values()))
    new_session(actor, programme, found.key, found.steps[0].key, ["met"] * 19 + ["missed"])
    return found


@pytest.fixture
def guest(actor, programme, now):
    token = make_family_link(actor, programme, NewLink("Linden house", may_write=True), now=now)
    return open_family_link(token, now=now)


@pytest.fixture
def later(now):
    return now + HANDOVER + timedelta(days=8)


def tell(guest, at, kind, subject="", **given):
    return log_family_entry(guest, FamilyTap(kind, at, subject, **given), now=at)


def test_before_the_hand_over_nobody_needs_a_call_and_the_follow_ups_have_dates(actor, programme, behaviour, now):
    page = read_after_handover(actor, programme, now=now)
    assert not page.begun
    assert page.whys == ()
    assert [one.due_on.isoformat() for one in page.follow_ups] == [
        "2026-05-30",
        "2026-06-06",
        "2026-06-20",
        "2026-07-18",
    ]
    assert {one.behaviour for one in page.follow_ups[0].tried} == {behaviour.key}


def test_stay_without_a_session_has_a_page_and_nothing_to_forecast(actor, programme, later):
    page = read_after_handover(actor, programme, now=later)
    assert page.lines == ()
    assert all(one.tried == () for one in page.follow_ups)


def test_what_the_family_told_stands_beside_the_forecast(actor, programme, behaviour, guest, later):
    tell(guest, later, EntryKind.CUE, behaviour.key, n_met=4, n=6)
    (line,) = read_after_handover(actor, programme, now=later).lines
    assert (line.kept.n_met, line.kept.n) == (4, 6)
    assert 0 < line.kept.low < line.kept.p < line.kept.high < 1
    assert line.kept.expected == pytest.approx(6 * line.kept.p, rel=1e-9)


def test_entries_change_no_forecast_of_ours(actor, programme, behaviour, guest, later):
    before = read_after_handover(actor, programme, now=later).lines[0].kept.p
    tell(guest, later, EntryKind.CUE, behaviour.key, n_met=0, n=20)
    after = read_after_handover(actor, programme, now=later)
    assert after.lines[0].kept.p == before
    assert Reason.FALLEN in {why.reason for why in after.whys}


def test_what_was_told_before_the_hand_over_is_not_weighed_against_forgetting(actor, programme, behaviour, guest, now):
    tell(guest, now, EntryKind.CUE, behaviour.key, n_met=0, n=20)
    page = read_after_handover(actor, programme, now=now + HANDOVER)
    assert page.lines[0].kept.n == 0
    assert page.n_told == 20


def test_follow_up_is_told_by_link_or_by_telephone_and_marked(actor, programme, behaviour, guest, later):
    tell(guest, later, EntryKind.CUE, behaviour.key, n_met=2, n=3, week=1)
    log_told_entry(actor, programme, FamilyTap(EntryKind.OUTING, later, "done"), now=later)
    page = read_after_handover(actor, programme, now=later)
    assert page.follow_ups[0].state is FollowUpState.REPORTED
    assert {(one.by, one.told) for one in page.entries} == {("Linden house", False), ("Wren", True)}


def test_overdue_follow_up_is_a_reason_until_somebody_calls(actor, programme, behaviour, now):
    late = now + HANDOVER + timedelta(days=14)
    page = read_after_handover(actor, programme, now=late)
    assert page.follow_ups[0].state is FollowUpState.OVERDUE
    assert [why.reason for why in page.whys] == [Reason.OVERDUE]
    note_family_call(actor, programme, "All well, on holiday", now=late)
    settled = read_after_handover(actor, programme, now=late)
    assert settled.whys == ()
    assert settled.calls[0].words == "All well, on holiday"


def test_accidents_are_held_against_the_trainers_last_days(actor, programme, dog, guest, now, later):
    for day in range(10):
        log_care(actor, dog, CareEntry(CareKind.OUTING, now - timedelta(days=day), CareDetail.WEE), now=now)
    for n in range(4):
        tell(guest, later - timedelta(hours=n), EntryKind.OUTING, "accident")
    (why,) = [one for one in read_after_handover(actor, programme, now=later).whys if one.reason is Reason.ACCIDENTS]
    assert "4 accidents in 7 days, 0 in the last 10 days here" in str(why.words)


def test_list_has_those_who_need_a_call_first_and_only_stays_of_late(
    actor, stranger, programme, new_programme, behaviour, guest, later
):
    other = new_programme(actor)
    theirs = new_programme(stranger)
    tell(guest, later, EntryKind.CALL_ME)
    found = list_families_to_call(actor, now=later)
    assert [one.programme_id for one in found] == [programme, other]
    assert [bool(one.whys) for one in found] == [True, False]
    assert theirs not in {one.programme_id for one in found}
    assert list_families_to_call(actor, now=later + timedelta(weeks=12)) == []


def test_reader_reads_and_writes_nothing_and_a_stranger_finds_nothing(reader, stranger, programme, behaviour, later):
    assert read_after_handover(reader, programme, now=later).begun
    tap = FamilyTap(EntryKind.OUTING, later, "done")
    for write in (
        lambda who: log_told_entry(who, programme, tap, now=later),
        lambda who: note_family_call(who, programme, "", now=later),
        lambda who: change_lesson_item(who, programme, Tick(words="x"), now=later),
        lambda who: say_who_is_family(who, programme, [], now=later),
    ):
        with pytest.raises(Forbidden):
            write(reader)
        with pytest.raises(NotFound):
            write(stranger)
    for read in (read_after_handover, read_lesson):
        with pytest.raises(NotFound):
            read(stranger, programme, now=later)


def test_entry_of_another_pup_cannot_be_written_over(actor, programme, new_programme, guest, later):
    entry = uuid4()
    tell(guest, later, EntryKind.OUTING, "done", entry_id=entry)
    other = new_programme(actor)
    with pytest.raises(InvalidInput, match="another pup"):
        log_told_entry(actor, other, FamilyTap(EntryKind.OUTING, later, "done", entry_id=entry), now=later)
    assert FamilyEntry.objects.count() == 1


def with_family(actor, programme, new_session, behaviour, outcomes, **payload):
    from pupilage.storage.models import TrainingSession

    session = new_session(actor, programme, behaviour.key, behaviour.steps[0].key, outcomes)
    TrainingSession.objects.filter(id=session).update(**payload)
    return session


def test_familys_tries_stand_beside_the_trainers(actor, programme, new_session, behaviour, now):
    with_family(actor, programme, new_session, behaviour, ["met"] * 2 + ["missed"] * 6, handler="Ida")
    (line,) = read_lesson(actor, programme, now=now).lines
    carried = line.carried
    assert (carried.n_met, carried.n, carried.own_met, carried.own_n) == (2, 8, 19, 20)
    assert carried.high < 0


def test_trainer_says_who_is_family(actor, programme, new_session, behaviour, now):
    with_family(actor, programme, new_session, behaviour, ["met"] * 8, handler="Ida")
    with_family(actor, programme, new_session, behaviour, ["missed"] * 8, handler="a colleague")
    assert read_lesson(actor, programme, now=now).lines[0].carried.n == 16
    say_who_is_family(actor, programme, ["Ida", "nobody of this name"], now=now)
    page = read_lesson(actor, programme, now=now)
    assert sorted(page.handlers) == [("Ida", True), ("a colleague", False)]
    assert (page.lines[0].carried.n_met, page.lines[0].carried.n, page.lines[0].carried.own_n) == (8, 8, 20)


def test_agreement_of_the_family_with_the_trainers_log(actor, programme, new_session, behaviour, now):
    session = with_family(actor, programme, new_session, behaviour, ["met"] * 6, handler="Ida")
    from pupilage.core.training.record.fold import fold_session
    from pupilage.services.compare_codings import log_coding
    from pupilage.storage.queries.sessions import list_events

    marks = log_coding(fold_session(list_events(actor, session)), "log").marks
    seen = ["met"] * 5 + ["missed"]
    entries = [CodingEntry(str(uuid4()), Mark.MARK, one.time_s, code) for one, code in zip(marks, seen, strict=True)]
    entries.append(CodingEntry(str(uuid4()), Mark.ENDED, marks[-1].time_s + 1.0))
    keep_coding(actor, Subject(session_id=session), CodingGiven(uuid4(), "Ida", tuple(entries)), now=now)
    (scored,) = read_lesson(actor, programme, now=now).scored
    assert scored.observer == "Ida"
    assert scored.matched.share == pytest.approx(5 / 6)


def test_line_is_ticked_with_time_and_by_whom_and_taken_off_again(actor, programme, now):
    before = read_lesson(actor, programme, now=now)
    change_lesson_item(actor, programme, Tick(key="outing", by="Ida", done=True), now=now)
    change_lesson_item(actor, programme, Tick(key="outing", by="Ben", done=True), now=now + timedelta(hours=1))
    page = read_lesson(actor, programme, now=now)
    (item,) = [one for one in page.items if one.key == "outing"]
    assert (item.ticked_at, item.ticked_by) == (now, "Ben")
    assert page.n_ticked == 1
    change_lesson_item(actor, programme, Tick(key="outing", done=False), now=now)
    assert read_lesson(actor, programme, now=now) == before


def test_own_line_is_added_and_a_proposed_one_left_out(actor, programme, now):
    n = len(read_lesson(actor, programme, now=now).items)
    change_lesson_item(actor, programme, Tick(words="Cut its claws"), now=now)
    change_lesson_item(actor, programme, Tick(key="swap", left_out=True), now=now)
    page = read_lesson(actor, programme, now=now)
    assert len(page.items) == n
    assert page.items[-1].words == "Cut its claws"
    assert page.n_left_out == 1


def test_line_that_was_done_stays_when_its_goal_is_dropped(actor, programme, behaviour, now):
    change_lesson_item(actor, programme, Tick(key=f"cue:{behaviour.key}", by="Ida", done=True), now=now)
    set_goals(actor, programme, [GoalChoice("recall", "word", 3)], now=now)
    (item,) = [one for one in read_lesson(actor, programme, now=now).items if one.ticked_at is not None]
    assert str(item.proposed) == f"Asked for “{behaviour.name}”, and it worked"


@pytest.mark.parametrize("tick", [Tick(), Tick(words="x" * 201), Tick(words="   ")])
def test_line_without_words_is_refused(tick, actor, programme, now):
    with pytest.raises(InvalidInput):
        change_lesson_item(actor, programme, tick, now=now)
    assert not LessonItem.objects.exists()


@pytest.mark.parametrize("tick", [Tick(key="no-such-line", done=True), Tick(item_id=uuid4(), done=True)])
def test_line_that_is_not_there_is_not_ticked(tick, actor, programme, now):
    with pytest.raises(NotFound):
        change_lesson_item(actor, programme, tick, now=now)
