"""The calendar that a phone subscribes to: an unguessable link, no sign-in, entries that keep their ids."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from uuid import UUID

import icalendar
import pytest
from django.test import Client
from django.urls import reverse

from made_days import DAY, at, hand_made
from pupilage.core.access import Actor
from pupilage.core.errors import Conflict
from pupilage.core.planning.day.blocks import BlockState
from pupilage.services import make_day_plan as making
from pupilage.services.make_day_plan import make_day_plan
from pupilage.services.mark_block import Mark, mark_block
from pupilage.storage.models import CalendarLink, DayPlan, Membership

pytestmark = pytest.mark.django_db


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> list[object]:
    """The plans that are made, the last one for good; a test may change it."""
    answers: list[object] = [hand_made()]

    def solve(*_: object, **__: object) -> object:
        if isinstance(answers[-1], Exception):
            raise answers[-1]
        return answers[-1]

    monkeypatch.setattr(making, "solve_day", solve)
    return answers


@pytest.fixture
def link(keeper_client: Client, programme: UUID, solved: list[object]) -> str:
    """The address that the page of the day shows once."""
    return make_link(keeper_client, programme)


def make_link(client: Client, programme: UUID) -> str:
    text = client.post(reverse("calendar-link", args=[programme]), {"make": "yes"}).content.decode()
    address = re.search(r'value="http://testserver(/calendar/[^"]+)"', text)
    assert address is not None
    return address[1]


def read(path: str) -> icalendar.Calendar:
    answer = Client().get(path)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return icalendar.Calendar.from_ical(answer.content)


def by_key(calendar: icalendar.Calendar) -> dict[str, icalendar.Event]:
    return {str(event["uid"]): event for event in calendar.walk("VEVENT")}


def test_nobody_signs_in_and_no_cookie_is_set(link: str) -> None:
    answer = Client().get(link)
    assert answer.status_code == 200
    assert not answer.cookies
    assert answer["Cache-Control"] == "private, no-store"
    assert answer["Referrer-Policy"] == "no-referrer"


def test_first_asking_makes_todays_timetable(link: str, programme: UUID, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pupilage.web.clock.now", lambda: at("05:00"))
    assert not DayPlan.objects.exists()
    events = by_key(read(link))
    assert set(events) == {f"{programme}-2026-05-12-{one.key}@pupilage" for one in hand_made().blocks}
    outing = events[f"{programme}-2026-05-12-outing-2@pupilage"]
    assert str(outing["summary"]) == "Outing"
    assert "After 85 minutes of sleep." in str(outing["description"])
    rings = {uid for uid, event in events.items() if event.walk("VALARM")}
    assert rings == {uid for uid in events if "-outing-" in uid}


def test_entries_keep_their_ids_and_raise_their_sequence_when_the_day_is_planned_anew(
    link: str, actor: Actor, programme: UUID, now: datetime, solved: list[object]
) -> None:
    before = by_key(read(link))
    plan = hand_made()
    later = timedelta(minutes=15)
    solved.append(
        replace(
            plan,
            blocks=tuple(
                replace(b, start=b.start + later, end=b.end + later) if b.key == "outing-4" else b for b in plan.blocks
            ),
        )
    )
    make_day_plan(actor, programme, DAY, now=now + timedelta(minutes=1))
    after = by_key(read(link))
    assert after.keys() == before.keys()
    moved = {uid for uid in after if after[uid].start != before[uid].start}
    assert moved == {f"{programme}-2026-05-12-outing-4@pupilage"}
    for uid in after:
        rose = after[uid]["sequence"] > before[uid]["sequence"]
        assert rose == (uid in moved)
        assert (after[uid]["dtstamp"].dt > before[uid]["dtstamp"].dt) == (uid in moved)


def test_skipped_block_is_cancelled_in_the_calendar(link: str, actor: Actor, programme: UUID, now: datetime) -> None:
    uid = f"{programme}-2026-05-12-play-1@pupilage"
    before = by_key(read(link))[uid]
    mark_block(actor, programme, DAY, Mark("play-1", BlockState.SKIPPED), now=now)
    after = by_key(read(link))[uid]
    assert (str(before["status"]), str(after["status"])) == ("CONFIRMED", "CANCELLED")
    assert after["sequence"] > before["sequence"]


def test_day_without_a_plan_is_an_empty_calendar_and_no_failure(link: str, solved: list[object]) -> None:
    solved.append(Conflict("No room."))
    assert by_key(read(link)) == {}


def test_link_is_kept_as_a_hash_and_told_once(link: str, keeper_client: Client, programme: UUID) -> None:
    token = link.removeprefix("/calendar/").removesuffix(".ics")
    assert len(token) == 43, "32 random bytes in base64"
    assert token not in str(list(CalendarLink.objects.values()))
    page = keeper_client.get(reverse("day", args=[programme])).content.decode()
    assert token not in page
    assert "A calendar reads along since" in page


def test_revoked_replaced_and_unknown_links_are_all_404(link: str, keeper_client: Client, programme: UUID) -> None:
    newer = make_link(keeper_client, programme)
    assert Client().get(link).status_code == 404
    assert Client().get(newer).status_code == 200
    keeper_client.post(reverse("calendar-link", args=[programme]), {"revoke": "yes"})
    revoked, unknown = Client().get(newer), Client().get(reverse("calendar", args=["x" * 43]))
    assert revoked.status_code == unknown.status_code == 404
    assert revoked.content.replace(newer.encode(), b"") == unknown.content.replace(
        unknown.request["PATH_INFO"].encode(), b""
    )


def test_link_of_a_person_who_has_left_stops_working(link: str, actor: Actor) -> None:
    Membership.objects.filter(user_id=actor.user_id).delete()
    assert Client().get(link).status_code == 404


def test_calendar_is_only_read(link: str) -> None:
    assert Client().post(link).status_code == 405
    assert Client().head(link).status_code == 200, "some programs ask for the head first"


def test_phone_can_subscribe_with_one_tap(keeper_client: Client, programme: UUID, solved: list[object]) -> None:
    text = keeper_client.post(reverse("calendar-link", args=[programme]), {"make": "yes"}).content.decode()
    assert re.search(r'href="webcal://testserver/calendar/[^"]{43}\.ics"', text)


def test_two_people_have_a_link_each(
    link: str, actor: Actor, programme: UUID, signed_in: Callable[[Actor], Client]
) -> None:
    from pupilage.storage.models import User
    from pupilage.storage.queries.access import get_actor

    user = User.objects.create_user(username="ada")
    Membership.objects.create(workspace_id=actor.workspace_id, user=user, role="trainer")
    other = make_link(signed_in(get_actor(user.id)), programme)
    assert Client().get(link).status_code == Client().get(other).status_code == 200
