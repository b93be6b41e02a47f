"""What lasts around the pup, on Today and in the log: what runs, still so?, and taps that the rule has to judge."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.services.log_care import CareEntry, log_care
from pupilage.storage.models import CareEvent


@pytest.fixture
def begin(actor, dog, now):
    def write(minutes_ago, kind=CareKind.IN_REACH, detail=CareDetail.START):
        log_care(actor, dog, CareEntry(kind, now - timedelta(minutes=minutes_ago), detail), now=now)

    return write


def today(client):
    return client.get("/")


def tap(client, dog, value, **more):
    given = {"tap": value, "event_id": str(uuid4()), "from": "today", **more}
    return client.post(reverse("care-log", args=[dog]), given, headers={"HX-Request": "true"})


def test_one_tap_begins_and_one_tap_ends(keeper_client: Client, dog: UUID, begin) -> None:
    begin(20, CareKind.VISITOR)
    page = today(keeper_client)
    (row,) = page.context["running"]
    assert (row.end, row.asked) == ("visitor:end", "")
    assert "visitor:start" not in page.content.decode()  # it runs; it cannot begin again
    after = tap(keeper_client, dog, row.end).content.decode()
    assert "ends now" not in after
    assert "visitor:start" in after


def test_what_runs_in_two_kinds_is_shown_in_both(keeper_client: Client, begin) -> None:
    begin(20, CareKind.VISITOR)
    begin(10, CareKind.BUSY)
    assert len(today(keeper_client).context["running"]) == 2


def test_after_three_hours_it_asks_and_says_until_when_it_counts(keeper_client: Client, dog: UUID, begin) -> None:
    begin(190)
    page = today(keeper_client).content.decode()
    assert "Still so? No word for 3\xa0h\xa010\xa0min: it counts until" in page
    after = tap(keeper_client, dog, "in-reach:start").content.decode()
    assert "Still so?" not in after
    assert "ends now" in after


def test_end_that_was_forgotten_can_be_given_its_own_time(keeper_client: Client, actor, dog: UUID, begin, now) -> None:
    begin(190)
    ended = (now - timedelta(minutes=100)).astimezone(actor.zone)
    after = tap(keeper_client, dog, "in-reach:end", at=ended.strftime("%Y-%m-%dT%H:%M")).content.decode()
    assert "ends now" not in after
    assert CareEvent.objects.get(detail="end").at == now - timedelta(minutes=100)


def test_begun_twice_is_counted_once_and_said_where_it_was_tapped(keeper_client: Client, dog: UUID, begin) -> None:
    begin(40)
    begin(20)
    for page in (today(keeper_client), keeper_client.get(reverse("care", args=[dog]))):
        assert "counted once, from" in page.content.decode()
    assert CareEvent.objects.filter(kind="in-reach").count() == 2  # nothing is lost


def test_ended_twice_is_said_in_the_log(keeper_client: Client, dog: UUID, begin) -> None:
    begin(40)
    begin(30, detail=CareDetail.END)
    begin(20, detail=CareDetail.END)
    assert "the first end counts" in keeper_client.get(reverse("care", args=[dog])).content.decode()


def test_what_began_yesterday_evening_and_never_ended_is_said_and_runs_no_more(
    keeper_client: Client, begin, dog: UUID
) -> None:
    begin(15 * 60)
    assert not today(keeper_client).context["running"]
    begin(5)
    (row,) = today(keeper_client).context["running"]
    assert row.asked == ""


def test_end_in_the_future_is_refused_with_a_sentence(keeper_client: Client, actor, dog: UUID, begin, now) -> None:
    begin(190)
    later = (now + timedelta(hours=2)).astimezone(actor.zone)
    answer = tap(keeper_client, dog, "in-reach:end", at=later.strftime("%Y-%m-%dT%H:%M"))
    assert answer.status_code == 400
    assert "in the future" in answer.content.decode()


def test_end_refused_in_the_log_keeps_what_was_typed(keeper_client: Client, actor, dog: UUID, now) -> None:
    later = (now + timedelta(hours=2)).astimezone(actor.zone).strftime("%Y-%m-%dT%H:%M")
    given = {"tap": "visitor:end", "at": later, "note": "the neighbour"}
    answer = keeper_client.post(reverse("care-log", args=[dog]), given)
    assert answer.status_code == 400
    assert "the neighbour" in answer.content.decode()
    assert later in answer.content.decode()
