"""Coding a session blind, and the page on which two codings stand side by side."""

import json
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.storage.models import CodingEntry


def body(entries, coding=None, observer="Pia"):
    return {"coding": str(coding or uuid4()), "observer": observer, "entries": entries}


def mark(time_s, code):
    return {"id": str(uuid4()), "kind": "mark", "time_s": time_s, "code": code}


def push(client, session, given):
    return client.post(reverse("code-entries", args=[session]), json.dumps(given), content_type="application/json")


def test_coding_page_shows_what_counts_and_nothing_of_the_record(keeper_client: Client, session) -> None:
    answer = keeper_client.get(reverse("code-session", args=[session]))
    page = answer.content.decode()
    assert "What counts" in page
    assert "9 of 12" not in page
    assert set(answer.context["session"].__dataclass_fields__) == {
        "session_id", "dog", "behaviour", "behaviour_key", "started_at", "is_open",
    }  # fmt: skip


def test_push_names_what_is_stored_and_twice_is_once(keeper_client: Client, session) -> None:
    given = body([mark(8.2, "met"), mark(16.3, "missed")])
    for _ in range(2):
        answer = push(keeper_client, session, given)
        assert answer.status_code == 200
        assert answer.json()["kept"] == [entry["id"] for entry in given["entries"]]
    assert CodingEntry.objects.count() == 2


@pytest.mark.parametrize(
    "given", ["not json", "{}", json.dumps(body([{"id": "1", "kind": "mark", "time_s": 3, "code": "met"}]))]
)
def test_misshapen_push_is_answered_with_a_sentence(keeper_client: Client, session, given) -> None:
    answer = keeper_client.post(reverse("code-entries", args=[session]), given, content_type="application/json")
    assert answer.status_code == 400
    assert "load the page anew" in answer.json()["problems"][0]
    assert not CodingEntry.objects.exists()


def test_session_that_one_person_wrote_down_says_how_to_get_a_second(keeper_client: Client, session) -> None:
    page = keeper_client.get(reverse("agreement", args=[session])).content.decode()
    assert "One person has written this session down so far." in page
    assert reverse("code-session", args=[session]) in page


def test_agreement_says_how_far_how_sure_and_what_to_talk_over(keeper_client: Client, session) -> None:
    told = ["met"] * 9 + ["met", "missed"]
    push(keeper_client, session, body([mark(8.0 * n + 8.3, code) for n, code in enumerate(told)]))
    page = keeper_client.get(reverse("agreement", args=[session])).content.decode()
    assert "The log and Pia say the same of 10 of 12 moments: 83 %." in page
    assert "80 % is the usual minimum: reached, but so few moments cannot show it yet" in page
    assert "The log says Missed, Pia says Met." in page
    assert "The log says Missed; Pia marked nothing there." in page
    assert "Kappa depends on how common the words are" in page


def test_other_terms_can_be_chosen_and_nonsense_is_said(keeper_client: Client, session) -> None:
    push(keeper_client, session, body([mark(9.5, "met")]))
    address = reverse("agreement", args=[session])
    strict = keeper_client.get(address, {"tolerance_s": "0,5", "interval_s": "20"}).context["found"]
    assert (strict.terms.tolerance_s, strict.terms.interval_s, strict.n_same) == (0.5, 20.0, 0)
    assert "Give a number" in keeper_client.get(address, {"tolerance_s": "two"}).content.decode()
    assert keeper_client.get(address, {"interval_s": "0"}).status_code == 400
    assert keeper_client.get(address, {"other": str(uuid4())}).status_code == 404


def test_open_session_can_be_coded_while_it_runs(keeper_client: Client, actor, programme, new_session) -> None:
    from pupilage.storage.catalogue_files import load_catalogue

    step = load_catalogue().behaviours["sit"].steps[0].key
    opened = new_session(actor, programme, "sit", step, ["met"], end=False)
    page = keeper_client.get(reverse("code-session", args=[opened])).content.decode()
    assert "I watch it now" in page
    assert 'data-started="2026-05-12T08:30:00+01:00"' in page
