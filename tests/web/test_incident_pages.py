"""Incidents: a few taps, what the log knows already, what the record says, taking one back."""

from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from pupilage.core.care.events import CareDetail, CareKind
from pupilage.core.errors import InvalidInput
from pupilage.services.log_care import CareEntry, log_care, withdraw_care
from pupilage.services.log_incident import IncidentEntry, log_incident
from pupilage.storage.models import Incident
from pupilage.web import clock


def tap(client, dog, **fields):
    given = {"behaviour": "counter-stealing", "at": "2026-05-12T08:10"}
    return client.post(reverse("incident", args=[dog]), given | fields)


def test_four_taps_store_an_incident(keeper_client: Client, dog: UUID) -> None:
    answer = tap(keeper_client, dog, before=["unwatched", "in-reach"], gained="thing")
    assert answer.status_code == 302
    incident = Incident.objects.get()
    assert (incident.before, incident.gained, incident.left_it) == (["unwatched", "in-reach"], "thing", False)


def test_same_showing_of_the_form_sent_twice_stores_one(keeper_client: Client, dog: UUID) -> None:
    nonce = str(uuid4())
    for _ in range(2):
        tap(keeper_client, dog, incident_id=nonce)
    assert Incident.objects.count() == 1


def test_what_the_log_knows_is_ticked_already(keeper_client: Client, actor, dog: UUID, now) -> None:
    for minutes, kind, detail in (
        (10, CareKind.NAP, CareDetail.END),
        (40, CareKind.MEAL, CareDetail.PLAIN),
        (5, CareKind.UNWATCHED, CareDetail.START),
    ):
        log_care(actor, dog, CareEntry(kind, now - timedelta(minutes=minutes), detail), now=now)
    context = keeper_client.get(reverse("incident", args=[dog])).context
    assert context["form"].initial["before"] == ["woke", "unwatched"]
    assert context["known"] == ["awake for 10\xa0min", "a meal 40\xa0min before"]


def test_looking_and_leaving_it_is_counted_as_good_news(keeper_client: Client, dog: UUID) -> None:
    tap(keeper_client, dog, left="left")
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert "It looked and left it 1 of 1 times written down" in page
    assert "Not once so far." in page


def test_a_bite_is_answered_with_whom_to_ask(keeper_client: Client, dog: UUID) -> None:
    path = reverse("incident", args=[dog])
    answer = keeper_client.post(
        path, {"behaviour": "mouthing-hands", "at": "2026-05-12T08:10", "teeth": "bite"}, follow=True
    )
    assert "see a doctor" in answer.content.decode()


def test_incident_taken_back_is_in_no_reading_and_stays_stored(
    keeper_client: Client, dog: UUID, incident: UUID
) -> None:
    for _ in range(2):
        assert keeper_client.post(reverse("incident-take-back", args=[incident])).status_code == 302
    assert "No incident written down yet." in keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert Incident.objects.count() == 1


@pytest.mark.parametrize(
    ("at", "word"), [("2026-05-13T08:10", "in the future"), ("2020-01-01T08:10", "before the pup came")]
)
def test_times_that_cannot_be_are_refused_and_nothing_typed_is_lost(keeper_client: Client, dog: UUID, at, word) -> None:
    answer = tap(keeper_client, dog, at=at, note="by the sink")
    assert answer.status_code == 400
    assert word in answer.content.decode()
    assert "by the sink" in answer.content.decode()
    assert not Incident.objects.exists()


def test_unknown_antecedent_is_refused(keeper_client: Client, dog: UUID) -> None:
    assert tap(keeper_client, dog, before=["the-moon"]).status_code == 400


def test_three_incidents_say_that_they_cannot_tell(keeper_client: Client, actor, dog: UUID, now) -> None:
    for i in range(3):
        log_incident(actor, dog, IncidentEntry("counter-stealing", now - timedelta(hours=i)), now=now)
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert "3 incidents cannot tell a cause" in page
    assert "in hours that the log does not cover" in page


def bring_in(client, dog, content):
    file = SimpleUploadedFile("mine.csv", content, content_type="text/csv")
    return client.post(reverse("incident-sheet", args=[dog]), {"file": file}, follow=True)


def test_sheet_is_taken_out_and_brought_in_again_without_doubling(
    keeper_client: Client, dog: UUID, incident: UUID
) -> None:
    out = keeper_client.get(reverse("incident-sheet", args=[dog]), {"csv": ""})
    assert out["Content-Disposition"] == 'attachment; filename="incidents.csv"'
    page = bring_in(keeper_client, dog, out.content).content.decode()
    assert "0 incidents brought in." in page
    assert "1 row was stored already" in page
    assert Incident.objects.count() == 1


def test_sheet_with_bad_rows_is_refused_whole_with_each_of_them(keeper_client: Client, dog: UUID) -> None:
    answer = bring_in(
        keeper_client,
        dog,
        b"at,behaviour,before\n2026-05-10 08:15,digging,\n2026-05-10 08:15,flying,\n2027-01-01 9:00,digging,moon\n",
    )
    assert answer.status_code == 400
    page = answer.content.decode()
    for words in ("Nothing was imported: 2 of 3 rows", "row 3, behaviour:", "row 4, at:", "row 4, before: “moon”"):
        assert words in page
    assert not Incident.objects.exists()


def test_sheet_page_names_the_antecedents_that_are_known(keeper_client: Client, dog: UUID) -> None:
    page = keeper_client.get(reverse("incident-sheet", args=[dog])).content.decode()
    assert "<code>in-reach</code></dt><dd>food or things in reach" in page
    assert keeper_client.post(reverse("incident-sheet", args=[dog]), {}).status_code == 400


def test_three_incidents_have_no_chart(keeper_client: Client, actor, dog: UUID, now) -> None:
    for i in range(3):
        log_incident(actor, dog, IncidentEntry("counter-stealing", now - timedelta(hours=i)), now=now)
    assert "<svg" not in keeper_client.get(reverse("incidents", args=[dog])).content.decode()


def test_enough_incidents_are_drawn_and_every_drawing_has_its_sentence_and_its_table(
    keeper_client: Client, actor, dog: UUID, now
) -> None:
    fill(actor, dog, now)
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    n = page.count("<svg")
    assert n >= 4
    assert page.count("<figcaption") == page.count("The same as a table") == n
    assert "goes with 8 of 8" in page


def fill(actor, dog: UUID, now) -> None:
    """Log eight hours with food in reach for a quarter of an hour, on each of five days, and eight thefts in it."""
    for day in range(1, 6):
        start = now.replace(hour=7, minute=0) - timedelta(days=day)
        for minutes, kind, detail in (
            (0, CareKind.NAP, CareDetail.END),
            (60, CareKind.IN_REACH, CareDetail.START),
            (75, CareKind.IN_REACH, CareDetail.END),
            (480, CareKind.NAP, CareDetail.START),
        ):
            log_care(actor, dog, CareEntry(kind, start + timedelta(minutes=minutes), detail), now=now)
    for i in range(8):
        at = now.replace(hour=8, minute=2 + i) - timedelta(days=1 + i % 5)
        log_incident(actor, dog, IncidentEntry("counter-stealing", at), now=now)


def test_what_the_log_knew_stays_with_the_incident_when_the_log_is_put_right(
    keeper_client: Client, actor, dog: UUID, now
) -> None:
    meal = log_care(actor, dog, CareEntry(CareKind.MEAL, now - timedelta(minutes=40)), now=now)
    incident = log_incident(actor, dog, IncidentEntry("counter-stealing", now - timedelta(minutes=10)), now=now)
    withdraw_care(actor, UUID(meal.id), now=now)
    assert Incident.objects.get(id=incident).context == {"meal_min": 30}
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert "a meal 30\xa0min before" in page


def test_who_was_in_charge_is_filled_in_and_can_be_changed(keeper_client: Client, dog: UUID) -> None:
    form = keeper_client.get(reverse("incident", args=[dog])).context["form"]
    writer = form.initial["in_charge"]
    assert writer
    tap(keeper_client, dog)
    tap(keeper_client, dog, in_charge="Aunt Rue")
    assert sorted(Incident.objects.values_list("in_charge", flat=True)) == sorted([writer, "Aunt Rue"])


def test_place_and_what_people_did_are_tapped_or_written(keeper_client: Client, dog: UUID) -> None:
    tap(keeper_client, dog, where="kitchen", did=["called it away", "swapped"])
    tap(keeper_client, dog, where="kitchen", place="the shed", people_did="Shut the door.", did=["did nothing"])
    first, second = Incident.objects.order_by("place")
    assert (first.place, first.people_did) == ("kitchen", "called it away; swapped")
    assert (second.place, second.people_did) == ("the shed", "did nothing; Shut the door.")
    choices = keeper_client.get(reverse("incident", args=[dog])).context["form"].fields["where"].widget.choices
    assert {"kitchen", "the shed"} <= {value for value, _ in choices}


def test_unwatched_pup_is_not_said_to_be_watched(keeper_client: Client, actor, dog: UUID, now) -> None:
    log_care(actor, dog, CareEntry(CareKind.UNWATCHED, now - timedelta(minutes=5), CareDetail.START), now=now)
    assert keeper_client.get(reverse("incident", args=[dog])).context["form"].initial["supervised"] is False


def test_near_miss_is_no_incident_and_is_told(keeper_client: Client, dog: UUID) -> None:
    tap(keeper_client, dog, left="near")
    assert Incident.objects.get().near_miss
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert "Near misses, where it began and somebody was in time: 1." in page
    assert "Not once so far." in page


def test_leaving_it_is_one_tap_and_the_same_tap_twice_is_one(keeper_client: Client, actor, dog: UUID, now) -> None:
    log_care(actor, dog, CareEntry(CareKind.IN_REACH, now - timedelta(minutes=5), CareDetail.START), now=now)
    page = keeper_client.get("/").content.decode()
    assert "looked, left it" in page
    given = {"behaviour": "counter-stealing", "event_id": str(uuid4()), "from": "today"}
    for _ in range(2):
        answer = keeper_client.post(reverse("incident-left", args=[dog]), given, headers={"HX-Request": "true"})
        assert "it left it" in answer.content.decode()
    incident = Incident.objects.get()
    assert (incident.left_it, incident.before) == (True, ["in-reach"])


def test_leaving_it_without_scripts_goes_back_to_where_it_was_tapped(keeper_client: Client, dog: UUID) -> None:
    path = reverse("incident-left", args=[dog])
    assert keeper_client.post(path, {"behaviour": "jumping-up", "from": "today"}).url == "/"
    assert keeper_client.post(path, {"behaviour": "jumping-up"}).url.endswith("?behaviour=jumping-up")
    assert keeper_client.post(path, {"behaviour": "the-moon"}).status_code == 400
    assert Incident.objects.count() == 2


def test_good_news_taken_back_on_today_leaves_today_on_the_screen(keeper_client: Client, dog: UUID, incident) -> None:
    path = reverse("incident-take-back", args=[incident])
    answer = keeper_client.post(path, headers={"HX-Request": "true"})
    assert "Taken back." in answer.content.decode()


def test_without_a_free_hour_in_the_log_no_rate_is_made_up(keeper_client: Client, dog: UUID, incident: UUID) -> None:
    page = keeper_client.get(reverse("incidents", args=[dog])).content.decode()
    assert "No free hour is in the log, so a rate cannot be told" in page


BETWEEN = {
    "behaviour": "rough-play-with-dog",
    "started": "pup",
    "resource": "toy",
    "apart": "within-1-m",
    "answered": "growled",
    "ended": "person",
    "dog_teeth": "touch",
    "hurt": "resident",
}


def test_one_between_the_dogs_is_stored_and_read_on_their_page(keeper_client: Client, dog: UUID) -> None:
    answer = tap(keeper_client, dog, **BETWEEN)
    assert answer.url == reverse("two-dogs", args=[dog])
    stored = Incident.objects.get().between
    assert stored == {
        "started": "pup",
        "resource": "toy",
        "apart": "within-1-m",
        "answered": "growled",
        "ended": "person",
        "teeth": "touch",
        "hurt": "resident",
    }
    page = keeper_client.get(answer.url).content.decode()
    assert "started by the pup; over a toy; within 1 m; the resident dog: growled; ended by a person" in page
    assert "Most often over a toy" in page
    assert "a rate needs one hour at least" in page
    assert "is in no rate" in page


def test_calm_hours_together_are_the_exposure(keeper_client: Client, actor, dog: UUID, now) -> None:
    for minutes, kind, detail in (
        (190, CareKind.NAP, CareDetail.END),
        (180, CareKind.RESIDENT, CareDetail.START),
        (60, CareKind.RESIDENT, CareDetail.END),
        (5, CareKind.OUTING, CareDetail.WEE),
    ):
        log_care(actor, dog, CareEntry(kind, now - timedelta(minutes=minutes), detail), now=now)
    tap(keeper_client, dog, **BETWEEN, at=(now - timedelta(minutes=100)).astimezone(actor.zone).strftime("%FT%H:%M"))
    answers = keeper_client.get(reverse("two-dogs", args=[dog])).context["page"].answers
    assert (answers.n_flares, answers.hours_calm) == (1, pytest.approx(2 - 1 / 6))


def test_two_dogs_with_nothing_written_say_what_to_tap(keeper_client: Client, dog: UUID) -> None:
    page = keeper_client.get(reverse("two-dogs", args=[dog])).content.decode()
    assert "nothing can be told yet" in page
    assert "veterinary behaviourist at once" in page
    assert "Never punish a growl" in page


def test_what_was_tapped_between_the_dogs_stays_when_the_time_is_refused(keeper_client: Client, dog: UUID) -> None:
    answer = tap(keeper_client, dog, **BETWEEN, at="2026-05-13T08:10", where="hall", did=["swapped"])
    assert answer.status_code == 400
    form = answer.context["form"]
    assert {name: form[name].value() for name in BETWEEN} == BETWEEN
    assert (form["where"].value(), form["did"].value()) == ("hall", ["swapped"])


def test_bite_on_a_dog_sends_to_the_veterinarian_first(keeper_client: Client, dog: UUID) -> None:
    tap(keeper_client, dog, **{**BETWEEN, "dog_teeth": "bite"})
    page = keeper_client.get(reverse("two-dogs", args=[dog])).content.decode()
    assert page.index("seen by a veterinarian the same day") < page.index("What to do")


def test_nothing_done_is_not_both_left_and_caught(actor, dog: UUID, now) -> None:
    with pytest.raises(InvalidInput, match="choose one of the two"):
        log_incident(actor, dog, IncidentEntry("jumping-up", now, left_it=True, near_miss=True), now=now)


def test_near_miss_is_one_tap_from_the_incidents(keeper_client: Client, dog: UUID, incident: UUID) -> None:
    path = reverse("incident-left", args=[dog])
    given = {"behaviour": "counter-stealing", "event_id": str(uuid4()), "near": "on"}
    answer = keeper_client.post(path, given, follow=True)
    assert "Written down: in time." in answer.content.decode()
    assert "Near misses, where it began and somebody was in time: 1." in answer.content.decode()
    assert Incident.objects.filter(near_miss=True, left_it=False).count() == 1


def test_what_was_tapped_in_the_same_minute_came_before(
    keeper_client: Client, actor, dog: UUID, now, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The form knows minutes only; a stretch begun twenty seconds ago holds an incident of “now” all the same."""
    tapped, later = now + timedelta(seconds=20), now + timedelta(seconds=50)
    monkeypatch.setattr(clock, "now", lambda: later)
    log_care(actor, dog, CareEntry(CareKind.PLAY, tapped, CareDetail.END), now=later)
    tap(keeper_client, dog, at=later.astimezone(actor.zone).strftime("%Y-%m-%dT%H:%M"))
    stored = Incident.objects.get()
    assert tapped <= stored.at <= later
    assert stored.context == {"play_min": 0}


def test_a_time_that_was_typed_stays_as_it_is(keeper_client: Client, actor, dog: UUID, now) -> None:
    typed = (now - timedelta(minutes=30)).replace(second=0, microsecond=0)
    tap(keeper_client, dog, at=typed.astimezone(actor.zone).strftime("%Y-%m-%dT%H:%M"))
    assert Incident.objects.get().at == typed
