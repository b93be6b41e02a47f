"""The timetable on Today: made at once, followed by taps, and planned anew when something happens."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from made_days import DAY, at, hand_made
from pupilage.core.access import Actor
from pupilage.core.errors import Conflict
from pupilage.core.planning.day.blocks import DayPlan
from pupilage.services import make_day_plan as making
from pupilage.services.make_day_plan import make_day_plan
from pupilage.services.set_goals import GoalChoice, set_goals
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Appointment, CareEvent, DayPreferences, PlanBlock, ProgrammePlan

pytestmark = pytest.mark.django_db

HTMX = {"HX-Request": "true"}


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """The plans that are made, the last one for good; a test may add to them."""
    answers: list[object] = [hand_made()]

    def solve(collected: object, **_: object) -> DayPlan:
        if isinstance(answers[-1], Exception):
            raise answers[-1]
        marked = {one.key: one.state for one in collected.blocks}
        plan = answers[-1]
        return replace(plan, blocks=tuple(replace(b, state=marked.get(b.key, b.state)) for b in plan.blocks))

    monkeypatch.setattr(making, "solve_day", solve)
    return answers


@pytest.fixture
def planned(actor: Actor, programme: UUID, solved: list[object]) -> UUID:
    make_day_plan(actor, programme, DAY, now=at("05:00"))
    return programme


def post(client: Client, name: str, programme: UUID, **fields: str) -> str:
    answer = client.post(reverse(name, args=[programme]), {"day": DAY.isoformat(), **fields}, headers=HTMX)
    assert answer.status_code == 200, answer.content.decode()
    return answer.content.decode()


def due(text: str) -> str:
    """Return the words of what is due."""
    found = re.search(r'id="due"[^>]*>(.*?)</p>', text, re.DOTALL)
    assert found is not None
    return re.sub(r"<[^>]+>", "", found[1]).strip()


def test_day_without_a_timetable_asks_for_one_by_itself(
    keeper_client: Client, programme: UUID, solved: list[object]
) -> None:
    text = keeper_client.get("/").content.decode()
    assert "Today's timetable is being made." in text
    assert 'hx-trigger="load, submit"' in text
    made = post(keeper_client, "day-plan", programme, first="yes")
    assert "Dentist; bring card, keys" in made
    assert "being made" not in made
    assert "a better one is being looked for" in made, "by the plan of the stay, which may be of an earlier day"


def test_second_look_makes_the_stays_plan_of_today(
    keeper_client: Client, programme: UUID, solved: list[object]
) -> None:
    post(keeper_client, "day-plan", programme, first="yes")
    assert not ProgrammePlan.objects.exists()
    post(keeper_client, "day-plan", programme)
    assert ProgrammePlan.objects.get().made_at is not None


def test_reader_is_not_made_to_ask(reader_client: Client, programme: UUID) -> None:
    assert 'hx-trigger="load, submit"' not in reader_client.get("/").content.decode()


def test_button_works_without_javascript(keeper_client: Client, programme: UUID, solved: list[object]) -> None:
    answer = keeper_client.post(reverse("day-plan", args=[programme]), {"first": "yes"})
    assert (answer.status_code, answer["Location"]) == (302, "/")
    assert "Dentist" in keeper_client.get("/").content.decode()


def test_first_plan_is_shown_at_once_and_a_better_one_replaces_it(
    keeper_client: Client, programme: UUID, solved: list[object]
) -> None:
    solved.append(hand_made(status="first"))
    first = post(keeper_client, "day-plan", programme, first="yes")
    assert "This is the first plan; a better one is being looked for." in first
    assert 'hx-trigger="load, submit"' in first
    solved.append(hand_made(last_outing="21:45", status="within"))
    better = post(keeper_client, "day-plan", programme)
    assert "A better plan has replaced the first one." in better
    assert "no plan could be better by more than 4 %" in better
    assert 'hx-trigger="load, submit"' not in better


def test_where_no_better_plan_is_found_the_page_says_so_and_stops_looking(
    keeper_client: Client, programme: UUID, solved: list[object]
) -> None:
    solved.append(hand_made(status="first"))
    post(keeper_client, "day-plan", programme, first="yes")
    again = post(keeper_client, "day-plan", programme)
    assert "Looked for a better plan: the first one stays." in again
    assert 'hx-trigger="load, submit"' not in again


def test_what_cannot_be_planned_is_said_in_the_timetables_place(
    keeper_client: Client, programme: UUID, solved: list[object]
) -> None:
    solved.append(Conflict("Two rules clash: {rule}.", rule="naps"))
    text = post(keeper_client, "day-plan", programme, first="yes")
    assert "Two rules clash: naps." in text
    assert 'hx-trigger="load, submit"' not in text


def test_now_line_stands_between_what_is_over_and_what_comes(keeper_client: Client, planned: UUID) -> None:
    text = keeper_client.get("/").content.decode()
    before, after = text.split('class="now-line"')
    over, coming = before[before.index('<details class="over">') :], after
    assert "09:30" in after[:60], "now, in Lisbon"
    assert [t for t in ("07:00", "08:00") if t in over] == ["07:00", "08:00"], "outing and nap of the morning"
    assert "Dentist; bring card, keys" in coming
    assert "Earlier: 3 blocks" in over
    assert "3 not ticked off" in over


def test_next_session_is_the_timetables(keeper_client: Client, planned: UUID) -> None:
    text = keeper_client.get("/").content.decode()
    card = text[text.index('id="next-session"') : text.index('id="timetable"')]
    assert "09:40" in card, "Lisbon"
    assert "?behaviour=sit" in card


def test_what_is_due_stands_at_the_top(keeper_client: Client, planned: UUID) -> None:
    text = keeper_client.get("/").content.decode()
    assert due(text) == "Outing 09:25–09:35"
    assert "After 85 minutes of sleep." in text


def test_tap_outside_ticks_the_outing_off_and_what_comes_next_is_shown(
    keeper_client: Client, planned: UUID, dog: UUID
) -> None:
    form = {"tap": "outing:wee", "from": "today", "event_id": str(uuid4())}
    text = keeper_client.post(reverse("care-log", args=[dog]), form, headers=HTMX).content.decode()
    assert PlanBlock.objects.get(key="outing-2").state == "done"
    assert CareEvent.objects.count() == 1
    assert 'id="timetable" hx-swap-oob="true"' in text
    assert "Written down: Outside: wee" in text


def test_meal_is_ticked_off_with_one_tap_and_taken_back_with_another(keeper_client: Client, planned: UUID) -> None:
    text = post(keeper_client, "day-mark", planned, key="meal-2", done="yes")
    assert "Meal: done." in text
    assert CareEvent.objects.get().amount_g == 40.0
    text = post(keeper_client, "day-mark", planned, key="meal-2", back="yes")
    assert "Taken back." in text
    assert PlanBlock.objects.get(key="meal-2").state == "planned"


def test_skipped_block_stays_on_the_page_as_skipped(keeper_client: Client, planned: UUID) -> None:
    post(keeper_client, "day-mark", planned, key="nap-1", skipped="yes")
    assert '<span class="tape small">skipped</span>' in keeper_client.get("/").content.decode()


def test_mark_without_javascript_comes_back_to_today(keeper_client: Client, planned: UUID) -> None:
    form = {"day": DAY.isoformat(), "key": "meal-2", "done": "yes"}
    answer = keeper_client.post(reverse("day-mark", args=[planned]), form)
    assert (answer.status_code, answer["Location"]) == (302, "/")


@pytest.mark.parametrize(
    "fields", [{}, {"done": "yes", "skipped": "yes"}, {"done": "flown"}, {"day": "x", "done": "yes"}]
)
def test_unclear_tap_is_refused(keeper_client: Client, planned: UUID, fields: dict[str, str]) -> None:
    form = {"day": DAY.isoformat(), "key": "meal-2", **fields}
    answer = keeper_client.post(reverse("day-mark", args=[planned]), form, headers=HTMX)
    assert answer.status_code == 400
    assert "This was not written down" in answer.content.decode()
    assert PlanBlock.objects.get(key="meal-2").state == "planned"


def test_accident_moves_the_plan_and_is_written_down(
    keeper_client: Client, planned: UUID, dog: UUID, solved: list[object]
) -> None:
    solved.append(
        replace(
            hand_made(),
            blocks=tuple(
                replace(b, start=b.start + timedelta(minutes=25), end=b.end + timedelta(minutes=25))
                if b.key == "nap-2"
                else b
                for b in hand_made().blocks
            ),
        )
    )
    form = {"tap": "indoors:wee", "from": "today", "event_id": str(uuid4())}
    text = keeper_client.post(reverse("care-log", args=[dog]), form, headers=HTMX).content.decode()
    assert "10:35" in text, "the nap that was planned at 10:10, Lisbon"
    assert CareEvent.objects.get().kind == "indoors"


def test_waking_early_is_one_tap(keeper_client: Client, planned: UUID) -> None:
    text = post(keeper_client, "day-happened", planned, happened="woke-early", event_id=str(uuid4()))
    assert "Written down: Nap: ends" in text


def test_page_that_lies_open_is_left_alone_until_something_changes(
    keeper_client: Client, planned: UUID, monkeypatch: pytest.MonkeyPatch, now: datetime
) -> None:
    path = reverse("timetable", args=[planned])
    text = keeper_client.get(path).content.decode()
    seen = re.search(r"\?seen=([0-9.]+)", text)[1]
    assert keeper_client.get(f"{path}?seen={seen}").status_code == 204
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now + timedelta(minutes=10))
    assert keeper_client.get(f"{path}?seen={seen}").status_code == 200


def test_trouble_stands_beside_the_last_good_plan(
    keeper_client: Client, planned: UUID, dog: UUID, solved: list[object]
) -> None:
    solved.append(Conflict("The naps and the appointment clash."))
    form = {"tap": "play:", "from": "today", "event_id": str(uuid4())}
    text = keeper_client.post(reverse("care-log", args=[dog]), form, headers=HTMX).content.decode()
    assert "the last good one stays" in text
    assert "The naps and the appointment clash." in text
    assert "Dentist" in text


def test_after_trouble_the_page_asks_again_by_a_button_and_never_in_a_circle(
    keeper_client: Client, planned: UUID, dog: UUID, actor: Actor, solved: list[object], now: datetime
) -> None:
    solved.append(Conflict("The naps and the appointment clash."))
    text = post(keeper_client, "day-plan", planned, first="yes")
    assert "clash" in text
    assert "load, submit" not in text
    goals = [GoalChoice("sit", load_catalogue().behaviours["sit"].target, 3)]
    set_goals(actor, planned, goals, now=now)
    solved.append(hand_made())
    text = keeper_client.get("/").content.decode()
    assert "Plan anew" in text
    assert "load, submit" not in text
    assert "clash" not in post(keeper_client, "day-plan", planned, first="yes")


def test_wish_that_could_not_be_kept_is_told(keeper_client: Client, planned: UUID) -> None:
    assert "Play in the quiet time: 10 minutes." in keeper_client.get("/").content.decode()


def test_sheet_has_every_block_and_a_box_to_tick(keeper_client: Client, planned: UUID) -> None:
    text = keeper_client.get(reverse("day-sheet")).content.decode()
    assert text.count('class="tick-box"') == len(hand_made().blocks)
    assert "06:00" not in text, "local times"
    assert "07:00–07:10" in text
    assert "There is no timetable" in keeper_client.get(reverse("day-sheet") + "?day=2026-05-13").content.decode()


def test_sheet_of_tomorrow_is_made_from_the_sheet_itself(
    keeper_client: Client, planned: UUID, solved: list[object], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "?day=2026-05-13" in keeper_client.get(reverse("day-sheet")).content.decode()
    tomorrow = reverse("day-sheet") + "?day=2026-05-13"
    assert "Make it" in keeper_client.get(tomorrow).content.decode()
    later = timedelta(days=1)
    blocks = tuple(replace(b, start=b.start + later, end=b.end + later) for b in hand_made().blocks)
    solved.append(replace(hand_made(), day=DAY + later, blocks=blocks))
    answer = keeper_client.post(reverse("day-plan", args=[planned]), {"day": "2026-05-13", "sheet": "yes"})
    assert answer["Location"] == tomorrow
    text = keeper_client.get(tomorrow).content.decode()
    assert text.count('class="tick-box"') == len(blocks)
    past = keeper_client.post(reverse("day-plan", args=[planned]), {"day": "2026-05-10"}, headers=HTMX)
    assert "is over" in past.content.decode()


FRAME = {"wake": "06:00", "last_outing": "22:00", "meals": "07:00, 12:00 17:30", "resident_min": "20"}


def test_frame_of_the_day_is_changed_and_read_back(keeper_client: Client, planned: UUID) -> None:
    path = reverse("day", args=[planned])
    answer = keeper_client.post(path, {**FRAME, "quiet_from": "13:00", "quiet_until": "14:30"})
    assert answer.status_code == 302, answer.content.decode()
    assert DayPreferences.objects.get().chosen["meals"] == ["07:00", "12:00", "17:30"]
    text = keeper_client.get(path).content.decode()
    for value in ("06:00", "22:00", "07:00 12:00 17:30", "13:00", "14:30", "20"):
        assert f'value="{value}"' in text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"last_outing": "05:00"}, "is too short a day"),
        ({"meals": "07:00 noon"}, "Give times of day"),
        ({"meals": "07:00 07:20"}, "less than an hour apart"),
        ({"meals": "03:00"}, "in the pup"),
        ({"quiet_from": "13:00"}, "Give both times of the quiet"),
        ({"quiet_from": "14:00", "quiet_until": "13:00"}, "ends before it begins"),
        ({"resident_min": "900"}, "cannot be; give 0 to 240"),
        ({"weight-meal-times": "-1"}, "greater than or equal to 0"),
    ],
)
def test_frame_that_cannot_be_is_refused_beside_its_field(
    keeper_client: Client, planned: UUID, fields: dict[str, str], words: str
) -> None:
    answer = keeper_client.post(reverse("day", args=[planned]), {**FRAME, **fields})
    assert answer.status_code == 400
    assert words in answer.content.decode()
    assert not DayPreferences.objects.exists()


def test_rule_is_weighed_and_what_is_as_shipped_is_not_stored(keeper_client: Client, planned: UUID) -> None:
    path = reverse("day", args=[planned])
    weights = {"weight-meal-times": "7,5", "weight-nap-length": "2", "weight-quiet-hours": ""}
    keeper_client.post(path, {**FRAME, **weights})
    assert DayPreferences.objects.get().chosen["weights"] == {"meal-times": 7.5}
    assert 'name="weight-meal-times" value="7.5"' in keeper_client.get(path).content.decode()


APPOINTMENT = {"starts_at": "2026-05-12T14:00", "ends_at": "2026-05-12T15:00", "words": "Dentist"}


def test_appointment_is_written_changed_and_deleted(keeper_client: Client, planned: UUID) -> None:
    path = reverse("appointment", args=[planned])
    assert keeper_client.post(path, APPOINTMENT).status_code == 302
    saved = Appointment.objects.get()
    page = keeper_client.get(reverse("day", args=[planned]) + f"?appointment={saved.id}").content.decode()
    assert 'value="2026-05-12T14:00"' in page
    changed = {**APPOINTMENT, "appointment": str(saved.id), "words": "Eye doctor", "comes_along": "on"}
    assert keeper_client.post(path, changed).status_code == 302
    saved.refresh_from_db()
    assert (saved.words, saved.comes_along) == ("Eye doctor", True)
    assert keeper_client.post(path, {"appointment": str(saved.id), "delete": "yes"}).status_code == 302
    assert "Eye doctor" not in keeper_client.get(reverse("day", args=[planned])).content.decode()
    assert Appointment.objects.get().deleted_at is not None, "kept, and no longer asked for"


def test_appointments_that_cannot_be_are_refused_and_what_was_typed_is_kept(
    keeper_client: Client, planned: UUID
) -> None:
    path = reverse("appointment", args=[planned])
    keeper_client.post(path, APPOINTMENT)
    for fields, words in (
        ({"ends_at": "2026-05-12T13:00"}, "ends before it starts"),
        ({"starts_at": "2026-05-12T14:30", "ends_at": "2026-05-12T16:00", "words": "Hairdresser"}, "two places"),
        ({"starts_at": "2026-03-29T01:30"}, "The clocks skipped this hour"),
    ):
        answer = keeper_client.post(path, {**APPOINTMENT, **fields})
        assert answer.status_code == 400
        text = answer.content.decode()
        assert words in text
        assert f'value="{fields.get("words", "Dentist")}"' in text
    assert Appointment.objects.count() == 1


@pytest.mark.parametrize("changes", [{"n_goals": 0}, {"handover_on": DAY}, {"handover_on": DAY + timedelta(days=1)}])
def test_awkward_stays_have_a_first_and_a_better_timetable_all_the_same(
    keeper_client: Client, actor: Actor, new_programme: Callable[..., UUID], changes: dict[str, object]
) -> None:
    """No goals; the hand-over today; the hand-over tomorrow: with the real solvers of the day and of the stay."""
    programme = new_programme(actor, **changes)
    assert keeper_client.get("/").status_code == 200
    for fields in ({"first": "yes"}, {}):
        text = post(keeper_client, "day-plan", programme, **fields)
        assert "now-line" in text
        assert "Night" in text


def test_stay_without_goals_shows_its_timetable(
    keeper_client: Client, actor: Actor, new_programme: Callable[..., UUID], solved: list[object]
) -> None:
    programme = new_programme(actor, n_goals=0)
    post(keeper_client, "day-plan", programme, first="yes")
    text = keeper_client.get("/").content.decode()
    assert "Choose goals" in text
    assert "Dentist" in text
