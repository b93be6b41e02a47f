"""Time alone: the proposal, the clock's push, the form for afterwards, panic, taking one back."""

import json
from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.incidents.absences import AbsenceRecord, SignAt
from pupilage.core.incidents.alone import Sign
from pupilage.services.log_absence import log_absence
from pupilage.storage.models import Absence

GONE_MS = 1_700_000_000_000.0
"""By a phone whose clock is years wrong."""


def read(client, name, dog):
    return client.get(reverse(name, args=[dog])).content.decode()


def push(client, dog, **changes):
    owner = client.get(reverse("sync-token")).json()["owner"]
    body = {
        "id": str(uuid4()),
        "owner": owner,
        "gone_ms": GONE_MS,
        "back_ms": GONE_MS + 95_000.0,
        "sent_ms": GONE_MS + 100_000.0,
        "signs": [{"sign": "whining", "at_s": 80.5}],
        "spot": "crate",
        "had": ["chew"],
    }
    return client.post(reverse("absence-push", args=[dog]), json.dumps(body | changes), "application/json")


def write(client, dog, **fields):
    given = {"at": "2026-05-12T09:10", "away_s": "3:20", "watched": "camera", "absence_id": str(uuid4())}
    return client.post(reverse("absence", args=[dog]), given | fields)


def test_clock_stores_how_long_ago_it_was_whatever_the_phones_clock_says(keeper_client: Client, dog, now):
    answer = push(keeper_client, dog)
    assert answer.json()["next"] == reverse("alone", args=[dog])
    row = Absence.objects.get()
    assert str(row.id) == answer.json()["stored"]
    assert (row.at, row.away_s) == (now - timedelta(seconds=100), 95.0)
    assert (row.signs, row.spot, row.had) == ([{"sign": "whining", "at_s": 80.5}], "crate", ["chew"])


def test_clock_that_pushes_twice_stores_one(keeper_client: Client, dog):
    nonce = str(uuid4())
    assert [push(keeper_client, dog, id=nonce).status_code for _ in range(2)] == [200, 200]
    assert Absence.objects.count() == 1


@pytest.mark.parametrize(
    ("changes", "status", "words"),
    [
        ({"signs": [{"sign": "whining", "at_s": 300.0}]}, 400, "is not while you were away"),
        ({"signs": [{"sign": "sulking", "at_s": 3.0}]}, 400, "The body is no absence."),
        ({"back_ms": GONE_MS}, 400, "0 s away cannot be"),
        ({"owner": "somebody else"}, 409, ""),
    ],
)
def test_push_that_cannot_be_is_answered_in_a_sentence(keeper_client: Client, dog, changes, status, words):
    answer = push(keeper_client, dog, **changes)
    assert answer.status_code == status
    assert words in " ".join(answer.json()["problems"])
    assert not Absence.objects.exists()


def test_form_stores_several_signs_with_times_and_one_without(keeper_client: Client, dog):
    signs = {"sign_whining": "on", "after_whining": "1:20", "sign_damage": "on", "after_barking": "2"}
    assert write(keeper_client, dog, **signs, state=["drowsy"]).status_code == 302
    row = Absence.objects.get()
    assert row.away_s == 200.0
    stored = {one["sign"]: one["at_s"] for one in row.signs}
    assert stored == {"whining": 80.0, "barking": 120.0, "damage": None}
    assert row.state == ["drowsy"]


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"away_s": "a while"}, "Give minutes and seconds"),
        ({"at": "2026-05-13T09:10"}, "in the future"),
        ({"at": "2020-01-01T09:10"}, "before the pup came"),
        ({"away_s": "30:00:00"}, "no more than 24 hours"),
        ({"sign_barking": "on", "after_barking": "9:00"}, "is not while you were away"),
    ],
)
def test_form_keeps_what_was_typed_when_it_cannot_be(keeper_client: Client, dog, fields, words):
    answer = write(keeper_client, dog, note="by the gate", **fields)
    assert answer.status_code == 400
    assert words in answer.content.decode()
    assert "by the gate" in answer.content.decode()
    assert not Absence.objects.exists()


def test_absence_that_overlaps_names_the_other(keeper_client: Client, dog):
    write(keeper_client, dog)
    answer = write(keeper_client, dog, at="2026-05-12T09:12")
    assert "overlaps the absence of 3 min 20 s from 2026-05-12 09:10 on" in answer.content.decode()


def test_fresh_page_proposes_the_door_and_draws_nothing(keeper_client: Client, dog):
    page = read(keeper_client, "alone", dog)
    assert "The first absence: through the door and back" in page
    assert "No watched absence written down yet." in page
    assert "<figure" not in page


def test_record_is_drawn_with_one_sentence_each(keeper_client: Client, actor, dog, now):
    for n in range(6):
        signs = (SignAt(Sign.WHINING, 40.0),) if n == 3 else ()
        record = AbsenceRecord(str(uuid4()), now - timedelta(hours=8 - n), 60.0, signs)
        log_absence(actor, dog, record, now=now)
    page = read(keeper_client, "alone", dog)
    assert page.count("<figure") == page.count("<figcaption") == 2
    assert "stayed calm for 1 min (95 % limits" in page.replace("\N{NO-BREAK SPACE}", " ")
    assert "Nine in ten absences of" in page
    assert "whines after" in page.replace("&nbsp;", " ")


def test_panic_shows_no_clock_but_whom_to_ask_and_how_not_to_leave_it(
    keeper_client: Client, actor, dog, now, monkeypatch
):
    record = AbsenceRecord(str(uuid4()), now - timedelta(hours=1), 60.0, (SignAt(Sign.DROOLING, 30.0),))
    log_absence(actor, dog, record, now=now)
    for name in ("alone", "leave"):
        page = read(keeper_client, name, dog)
        assert "veterinary behaviourist" in page
        assert "Somebody stays with it" in page
        assert 'id="gone"' not in page
    keeper_client.post(reverse("alone-advice", args=[dog]), {"words": "The clinic: begin again at the door."})
    monkeypatch.setattr("pupilage.web.clock.now", lambda: now + timedelta(minutes=5))
    assert 'id="gone"' in read(keeper_client, "leave", dog)


def test_absence_taken_back_is_gone_from_the_page_and_stays_stored(keeper_client: Client, dog, absence: UUID):
    for _ in range(2):
        assert keeper_client.post(reverse("absence-take-back", args=[absence])).status_code == 302
    assert "No watched absence written down yet." in read(keeper_client, "alone", dog)
    assert Absence.objects.count() == 1


@pytest.mark.parametrize("key", ["distress-alone", "alone-at-home"])
def test_catalogue_leads_to_the_next_absence(keeper_client: Client, dog, key):
    assert reverse("alone-now") in keeper_client.get(reverse("behaviour", args=[key])).content.decode()
    assert keeper_client.get(reverse("alone-now")).headers["Location"] == reverse("alone", args=[dog])


def test_today_and_the_care_log_lead_to_time_alone(keeper_client: Client, programme, dog):
    assert reverse("leave", args=[dog]) in keeper_client.get(reverse("today")).content.decode()
    assert reverse("alone", args=[dog]) in keeper_client.get(reverse("care", args=[dog])).content.decode()
