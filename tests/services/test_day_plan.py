"""Keeping a timetable, ticking blocks off, and what the care log says of them."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from uuid import UUID, uuid4

import pytest

from made_days import DAY, at, hand_made, states
from pupilage.core.access import Actor
from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.errors import Conflict, Forbidden, InvalidInput, NotFound
from pupilage.core.planning.day.blocks import BlockState, DayPlan
from pupilage.core.planning.day.preferences import DayPreferences
from pupilage.services import make_day_plan as making
from pupilage.services.change_day_frame import change_day_frame
from pupilage.services.change_dog import DogFacts, change_dog
from pupilage.services.change_stay import Stay, change_stay
from pupilage.services.log_care import CareEntry, log_care, withdraw_care
from pupilage.services.log_happening import Happened, log_happening
from pupilage.services.make_day_plan import follow_events, make_day_plan
from pupilage.services.mark_block import TICKED_LATER, Mark, mark_block
from pupilage.services.read_day_plan import find_day_plan, timetable_day
from pupilage.services.save_appointment import NewAppointment, delete_appointment, save_appointment
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import AuditEntry, CareEvent, PlanBlock
from pupilage.storage.models import DayPlan as PlanRow

pytestmark = pytest.mark.django_db


class Solver:
    """Answers with the plans that it is given, one after the other, the last for good; keeps what it was asked."""

    def __init__(self) -> None:
        self.answers: list[DayPlan | Exception] = [hand_made()]
        self.asked: list[object] = []

    def __call__(self, collected: object, **_: object) -> DayPlan:
        self.asked.append(collected)
        answer = self.answers.pop(0) if len(self.answers) > 1 else self.answers[0]
        if isinstance(answer, Exception):
            raise answer
        marked = {one.key: one.state for one in collected.blocks}
        return replace(answer, blocks=tuple(replace(b, state=marked.get(b.key, b.state)) for b in answer.blocks))


@pytest.fixture
def solver(monkeypatch: pytest.MonkeyPatch) -> Solver:
    made = Solver()
    monkeypatch.setattr(making, "solve_day", made)
    return made


@pytest.fixture
def planned(actor: Actor, programme: UUID, now: datetime, solver: Solver) -> UUID:
    make_day_plan(actor, programme, DAY, now=now)
    return programme


def state_of(actor: Actor, programme: UUID, key: str) -> BlockState:
    return states(find_day_plan(actor, programme, DAY).plan)[key]


def test_plan_that_was_made_is_read_back_whole(actor: Actor, planned: UUID, now: datetime) -> None:
    stored = find_day_plan(actor, planned, DAY)
    assert stored.plan == hand_made()
    assert (stored.made_at, stored.is_stale, stored.trouble) == (now, False, ())
    assert AuditEntry.objects.filter(action="make-day-plan").count() == 1


def test_there_is_none_before_the_first(actor: Actor, programme: UUID) -> None:
    assert find_day_plan(actor, programme, DAY) is None


def test_others_neither_read_nor_write(
    actor: Actor, planned: UUID, stranger: Actor, reader: Actor, now: datetime
) -> None:
    with pytest.raises(NotFound):
        find_day_plan(stranger, planned, DAY)
    with pytest.raises(NotFound):
        mark_block(stranger, planned, DAY, Mark("meal-1", BlockState.DONE), now=now)
    for write in (
        lambda: make_day_plan(reader, planned, DAY, now=now),
        lambda: mark_block(reader, planned, DAY, Mark("meal-1", BlockState.DONE), now=now),
        lambda: log_happening(reader, planned, DAY, Happened.WOKE_EARLY, now=now),
    ):
        with pytest.raises(Forbidden):
            write()
    assert find_day_plan(reader, planned, DAY) is not None


def test_done_meal_is_written_into_the_care_log_once(actor: Actor, planned: UUID, now: datetime) -> None:
    for _ in range(2):
        mark_block(actor, planned, DAY, Mark("meal-2", BlockState.DONE), now=now)
    event = CareEvent.objects.get()
    assert (event.kind, event.amount_g, event.at) == ("meal", 40.0, now)
    assert state_of(actor, planned, "meal-2") is BlockState.DONE
    assert AuditEntry.objects.filter(action="mark-block").count() == 1


@pytest.mark.parametrize(
    ("key", "kind", "detail"), [("nap-1", "nap", "end"), ("play-1", "play", ""), ("outing-2", "outing", "wee")]
)
def test_done_block_writes_the_entry_that_goes_with_it(
    actor: Actor, planned: UUID, now: datetime, key: str, kind: str, detail: str
) -> None:
    mark_block(actor, planned, DAY, Mark(key, BlockState.DONE, CareDetail.WEE), now=now)
    assert [(e.kind, e.detail) for e in CareEvent.objects.all()] == [(kind, detail)]


def test_done_session_or_appointment_makes_no_entry_up(actor: Actor, planned: UUID, now: datetime) -> None:
    for key in ("session-1", "appointment-1"):
        mark_block(actor, planned, DAY, Mark(key, BlockState.DONE), now=now)
        assert state_of(actor, planned, key) is BlockState.DONE
    assert not CareEvent.objects.exists()


def test_outing_is_done_only_with_what_was_done_there(actor: Actor, planned: UUID, now: datetime) -> None:
    with pytest.raises(InvalidInput, match="wee, poo, both or nothing"):
        mark_block(actor, planned, DAY, Mark("outing-2", BlockState.DONE), now=now)
    assert state_of(actor, planned, "outing-2") is BlockState.PLANNED
    assert not CareEvent.objects.exists()


def test_tick_long_after_is_written_for_the_time_of_the_plan_and_says_so(
    actor: Actor, planned: UUID, now: datetime
) -> None:
    mark_block(actor, planned, DAY, Mark("meal-1", BlockState.DONE), now=now)
    event = CareEvent.objects.get()
    assert (event.at, event.note) == (at("06:35"), TICKED_LATER)


def test_skipped_writes_nothing_into_the_care_log(actor: Actor, planned: UUID, now: datetime) -> None:
    mark_block(actor, planned, DAY, Mark("meal-2", BlockState.SKIPPED), now=now)
    assert not CareEvent.objects.exists()
    with pytest.raises(Conflict, match="skipped"):
        mark_block(actor, planned, DAY, Mark("meal-2", BlockState.DONE), now=now)


def test_mark_taken_back_takes_its_entry_back_and_can_be_made_again(
    actor: Actor, planned: UUID, dog: UUID, now: datetime
) -> None:
    done, back = Mark("meal-2", BlockState.DONE), Mark("meal-2", BlockState.PLANNED)
    for mark in (done, back, done):
        mark_block(actor, planned, DAY, mark, now=now)
    assert [e.kind for e in CareEvent.objects.order_by("id")] == ["meal", "withdrawn", "meal"]
    assert state_of(actor, planned, "meal-2") is BlockState.DONE


def test_block_whose_mark_is_taken_back_long_after_is_still_shown(
    actor: Actor, programme: UUID, now: datetime, solver: Solver
) -> None:
    make_day_plan(actor, programme, DAY, now=at("05:00"))
    for state in (BlockState.SKIPPED, BlockState.PLANNED):
        mark_block(actor, programme, DAY, Mark("meal-1", state), now=now)
    shown = {one.block.key for one in find_day_plan(actor, programme, DAY).shown}
    assert shown == {one.key for one in hand_made().blocks}


def test_what_was_over_before_the_first_plan_is_not_shown_until_it_is_ticked_off(
    actor: Actor, planned: UUID, now: datetime
) -> None:
    def shown() -> set[str]:
        return {one.block.key for one in find_day_plan(actor, planned, DAY).shown}

    assert "meal-1" not in shown()
    mark_block(actor, planned, DAY, Mark("meal-1", BlockState.DONE), now=now)
    assert "meal-1" in shown()


def test_unknown_block_is_refused(actor: Actor, planned: UUID, now: datetime) -> None:
    with pytest.raises(NotFound, match="no such block"):
        mark_block(actor, planned, DAY, Mark("nap-77", BlockState.DONE), now=now)


def test_ticked_blocks_stay_when_the_day_is_planned_anew(
    actor: Actor, planned: UUID, now: datetime, solver: Solver
) -> None:
    mark_block(actor, planned, DAY, Mark("outing-2", BlockState.DONE, CareDetail.POO), now=now)
    mark_block(actor, planned, DAY, Mark("session-1", BlockState.SKIPPED), now=now)
    later = hand_made()
    moved = tuple(
        replace(b, start=b.start + timedelta(minutes=20), end=b.end + timedelta(minutes=20))
        for b in later.blocks
        if b.key != "play-1"
    )
    solver.answers = [replace(later, blocks=moved)]
    make_day_plan(actor, planned, DAY, now=now)
    found = {b.key: b for b in find_day_plan(actor, planned, DAY).plan.blocks}
    assert (found["outing-2"].start, found["outing-2"].state) == (at("08:25"), BlockState.DONE)
    assert (found["session-1"].start, found["session-1"].state) == (at("08:40"), BlockState.SKIPPED)
    assert found["meal-1"].start == at("06:20")
    assert found["outing-4"].start == at("11:00")
    assert "play-1" not in found


def test_block_that_did_not_change_keeps_its_sequence(
    actor: Actor, planned: UUID, now: datetime, solver: Solver
) -> None:
    before = dict(PlanBlock.objects.values_list("key", "sequence"))
    plan = hand_made()
    solver.answers = [
        replace(
            plan,
            blocks=tuple(replace(b, end=b.end + timedelta(minutes=5)) if b.key == "nap-2" else b for b in plan.blocks),
        )
    ]
    make_day_plan(actor, planned, DAY, now=now)
    after = dict(PlanBlock.objects.values_list("key", "sequence"))
    assert {key for key in after if after[key] != before[key]} == {"nap-2"}
    assert after["nap-2"] > before["nap-2"]


def test_last_good_plan_stays_when_no_new_one_can_be_made_and_says_why(
    actor: Actor, planned: UUID, dog: UUID, now: datetime, solver: Solver
) -> None:
    solver.answers = [Conflict("Two rules clash: {rule}.", rule="nap")]
    log_care(actor, dog, CareEntry(CareKind.OUTING, now, CareDetail.WEE), now=now)
    stored = make_day_plan(actor, planned, DAY, now=now)
    assert [str(one) for one in stored.trouble] == ["Two rules clash: nap."]
    assert [b.start for b in stored.plan.blocks] == [b.start for b in hand_made().blocks]
    assert states(stored.plan)["outing-2"] is BlockState.DONE
    solver.answers = [hand_made()]
    assert make_day_plan(actor, planned, DAY, now=now).trouble == ()


def test_first_plan_that_fails_is_refused_with_the_reason(
    actor: Actor, programme: UUID, now: datetime, solver: Solver
) -> None:
    solver.answers = [Conflict("No room.")]
    with pytest.raises(Conflict, match="No room"):
        make_day_plan(actor, programme, DAY, now=now)
    assert find_day_plan(actor, programme, DAY) is None


def test_what_was_written_while_the_solver_ran_is_planned_for_as_well(
    actor: Actor, planned: UUID, dog: UUID, now: datetime, solver: Solver, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first answer is made from older knowledge, and thrown away."""

    def solve(collected: object, **more: object) -> DayPlan:
        if len(solver.asked) == 1:
            log_care(actor, dog, CareEntry(CareKind.OUTING, now, CareDetail.WEE), now=now)
        return solver(collected, **more)

    monkeypatch.setattr(making, "solve_day", solve)
    stored = make_day_plan(actor, planned, DAY, now=now)
    assert len(solver.asked) == 3
    assert states(stored.plan)["outing-2"] is BlockState.DONE
    assert not stored.is_stale


def test_entry_of_the_care_log_ticks_its_block_off_and_taking_it_back_opens_it_again(
    actor: Actor, planned: UUID, dog: UUID, now: datetime
) -> None:
    event = log_care(actor, dog, CareEntry(CareKind.OUTING, now, CareDetail.BOTH), now=now)
    assert find_day_plan(actor, planned, DAY).is_stale
    follow_events(actor, dog, now=now)
    assert state_of(actor, planned, "outing-2") is BlockState.DONE
    mark_block(actor, planned, DAY, Mark("outing-2", BlockState.DONE, CareDetail.WEE), now=now)
    assert CareEvent.objects.count() == 1, "the block was ticked off by the log: nothing is written twice"
    withdraw_care(actor, UUID(event.id), now=now)
    follow_events(actor, dog, now=now)
    assert state_of(actor, planned, "outing-2") is BlockState.PLANNED


def test_recorded_session_ticks_its_block_off(
    actor: Actor, planned: UUID, now: datetime, new_session: Callable[..., UUID]
) -> None:
    new_session(actor, planned, "sit", _first_step("sit"), ["met"] * 5, at=at("08:20"))
    assert find_day_plan(actor, planned, DAY).is_stale
    make_day_plan(actor, planned, DAY, now=now)
    assert state_of(actor, planned, "session-1") is BlockState.DONE


def _first_step(key: str) -> str:
    return load_catalogue().behaviours[key].steps[0].key


def test_what_a_day_is_made_of_makes_it_stale(actor: Actor, planned: UUID, dog: UUID, now: datetime) -> None:
    goals = [GoalChoice("sit", load_catalogue().behaviours["sit"].target, 3)]
    facts = DogFacts("Tansy", date(2026, 2, 25), daily_food_g=230.0)
    stay = Stay(date(2026, 5, 2), date(2026, 5, 24), 3)
    for change in (
        lambda: set_goals(actor, planned, goals, now=now),
        lambda: change_stay(actor, planned, stay, now=now),
        lambda: change_dog(actor, dog, facts, signs_settled=False, now=now),
        lambda: change_day_frame(actor, planned, DayPreferences(resident_min=20), now=now),
    ):
        change()
        assert find_day_plan(actor, planned, DAY).is_stale
        make_day_plan(actor, planned, DAY, now=now)
        assert not find_day_plan(actor, planned, DAY).is_stale


def test_old_entry_leaves_today_alone(actor: Actor, planned: UUID, dog: UUID, now: datetime) -> None:
    log_care(actor, dog, CareEntry(CareKind.OUTING, now - timedelta(days=2), CareDetail.WEE), now=now)
    assert not find_day_plan(actor, planned, DAY).is_stale


def test_accident_is_written_once_however_often_it_is_tapped(
    actor: Actor, planned: UUID, dog: UUID, now: datetime, solver: Solver
) -> None:
    tap = uuid4()
    for _ in range(2):
        log_happening(actor, planned, DAY, Happened.WEE_INDOORS, now=now, event_id=tap)
    follow_events(actor, dog, now=now)
    event = CareEvent.objects.get()
    assert (event.kind, event.detail) == ("indoors", "wee")
    assert len(solver.asked) == 2


def test_meal_eaten_late_is_written_and_ticks_the_meal_off(actor: Actor, planned: UUID, now: datetime) -> None:
    log_happening(actor, planned, DAY, Happened.ATE_LATE, now=now)
    event = CareEvent.objects.get()
    assert (event.kind, event.amount_g) == ("meal", 40.0)
    assert state_of(actor, planned, "meal-1") is BlockState.DONE
    with pytest.raises(InvalidInput, match="No meal of the timetable is waited for"):
        log_happening(actor, planned, DAY, Happened.ATE_LATE, now=now)


def test_day_turns_at_four_in_the_morning(actor: Actor) -> None:
    assert timetable_day(at("02:59"), actor.zone) == DAY - timedelta(days=1), "03:59 in Lisbon"
    assert timetable_day(at("03:00"), actor.zone) == DAY


def appointment(start: str, end: str, **more: object) -> NewAppointment:
    return NewAppointment(at(start), at(end), "Dentist", **more)


def test_appointment_makes_the_plan_stale_and_is_part_of_the_next(
    actor: Actor, planned: UUID, now: datetime, solver: Solver
) -> None:
    saved = save_appointment(actor, planned, appointment("13:00", "14:00"), now=now)
    assert find_day_plan(actor, planned, DAY).is_stale
    make_day_plan(actor, planned, DAY, now=now)
    assert [one.id for one in solver.asked[-1].busy] == [saved]
    delete_appointment(actor, planned, saved, now=now)
    delete_appointment(actor, planned, saved, now=now)
    make_day_plan(actor, planned, DAY, now=now)
    assert solver.asked[-1].busy == ()


def test_appointments_that_cannot_be_are_refused(actor: Actor, planned: UUID, now: datetime) -> None:
    saved = save_appointment(actor, planned, appointment("13:00", "14:00"), now=now)
    with pytest.raises(InvalidInput, match="ends before it starts"):
        save_appointment(actor, planned, appointment("15:00", "14:30"), now=now)
    with pytest.raises(InvalidInput, match="nobody can be in two places"):
        save_appointment(actor, planned, appointment("13:30", "15:00"), now=now)
    save_appointment(actor, planned, appointment("14:00", "15:00"), now=now)
    save_appointment(actor, planned, appointment("13:00", "13:50", id=saved), now=now)
    with pytest.raises(NotFound):
        save_appointment(actor, planned, appointment("17:00", "18:00", id=uuid4()), now=now)


def test_day_off_has_no_sessions(actor: Actor, planned: UUID, now: datetime, solver: Solver) -> None:
    assert solver.asked[-1].sessions
    save_appointment(actor, planned, appointment("09:00", "10:00", whole_day=True), now=now)
    make_day_plan(actor, planned, DAY, now=now)
    assert solver.asked[-1].sessions == ()
    busy = solver.asked[-1].busy[0]
    assert (busy.start, busy.end) == (at("23:00", DAY - timedelta(days=1)), at("23:00")), "midnight to midnight"


def test_handover_day_asks_for_no_session(
    actor: Actor, new_programme: Callable[..., UUID], now: datetime, solver: Solver
) -> None:
    programme = new_programme(actor, handover_on=DAY)
    make_day_plan(actor, programme, DAY, now=now)
    assert solver.asked[-1].sessions == ()


def test_programme_without_goals_has_a_timetable_without_sessions(
    actor: Actor, new_programme: Callable[..., UUID], now: datetime, solver: Solver
) -> None:
    programme = new_programme(actor, n_goals=0)
    make_day_plan(actor, programme, DAY, now=now)
    assert solver.asked[-1].sessions == ()
    assert len(solver.asked[-1].meals) == 4


def test_solver_is_asked_outside_any_transaction(
    actor: Actor, programme: UUID, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    from django.db import connection

    outer, seen = len(connection.savepoint_ids), []

    def solve(*_: object, **__: object) -> DayPlan:
        seen.append(len(connection.savepoint_ids))
        return hand_made()

    monkeypatch.setattr(making, "solve_day", solve)
    make_day_plan(actor, programme, DAY, now=now)
    assert seen == [outer]


def test_one_row_a_day_whatever_happens(actor: Actor, planned: UUID, now: datetime) -> None:
    for _ in range(3):
        make_day_plan(actor, planned, DAY, now=now)
    assert PlanRow.objects.count() == 1
