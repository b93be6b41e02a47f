"""Paid stretches: what a run starts from, its timer, and the taps that come back from the phone."""

import json
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.storage.models import IntervalRun, RunEvent


def start(client, dog, **fields):
    given = {"target": "mouthing-hands", "spacing": "variable", "n": "12", "minutes": "7,5", "run_id": str(uuid4())}
    return client.post(reverse("intervals", args=[dog]), given | fields)


def test_short_count_leads_to_the_timer(keeper_client: Client, dog) -> None:
    given = {"run_id": str(uuid4())}
    for _ in range(2):
        answer = start(keeper_client, dog, **given)
        assert answer.status_code == 302
    run = IntervalRun.objects.get()
    assert (run.first_mean_s, run.spacing, answer["Location"]) == (
        30.0, "variable", reverse("interval-run", args=[run.id])
    )  # fmt: skip


def test_timers_list_on_the_page_is_the_published_one(keeper_client: Client, dog) -> None:
    """VI 30 s, N = 12: Fleshler and Hoffman (1962); tests/external/test_interval_runs.py has the same list."""

    start(keeper_client, dog)
    page = keeper_client.get(reverse("interval-run", args=[IntervalRun.objects.get().id])).content.decode()
    for seconds in ("1.286", "14.122", "47.261", "104.547"):
        assert f'data-seconds="{seconds}"' in page
    assert page.count("data-seconds=") == 12


@pytest.mark.parametrize("fields", [{"n": ""}, {"minutes": "some"}, {"n": "0"}, {"spacing": "random"}, {"target": "x"}])
def test_what_cannot_start_is_said_and_what_was_typed_is_kept(keeper_client: Client, dog, fields) -> None:
    answer = start(keeper_client, dog, **fields)
    assert answer.status_code == 400
    assert "Everything you typed is still here." in answer.content.decode()
    assert not IntervalRun.objects.exists()


def test_taps_are_stored_once_and_stand_on_the_page_again(keeper_client: Client, interval_run, now) -> None:
    entries = [
        {"id": str(uuid4()), "kind": kind, "at": now.isoformat(), "mean_s": 120, "interval_s": 120}
        for kind in ("began", "came")
    ]
    for _ in range(2):
        answer = keeper_client.post(
            reverse("interval-events", args=[interval_run]),
            json.dumps({"entries": entries}),
            content_type="application/json",
        )
        assert answer.json() == {"kept": [entry["id"] for entry in entries]}
    assert RunEvent.objects.count() == 2
    page = keeper_client.get(reverse("interval-run", args=[interval_run]))
    assert [event["id"] for event in page.context["run"]["events"]] == [entry["id"] for entry in entries]


@pytest.mark.parametrize("at", ["2026-05-12T08:00:00", "yesterday"])
def test_tap_without_a_zone_is_refused(keeper_client: Client, interval_run, at) -> None:
    entry = {"id": str(uuid4()), "kind": "began", "at": at, "mean_s": 120, "interval_s": 120}
    answer = keeper_client.post(
        reverse("interval-events", args=[interval_run]),
        json.dumps({"entries": [entry]}),
        content_type="application/json",
    )
    assert answer.status_code == 400
    assert not RunEvent.objects.exists()


def test_guarding_is_sent_to_a_veterinary_behaviourist(keeper_client: Client, dog) -> None:
    page = keeper_client.get(reverse("intervals", args=[dog]), {"target": "guarding"}).content.decode()
    assert "Guarding goes to a veterinary behaviourist" in page


def test_wanted_behaviour_that_lasts_stops_and_does_not_do_it(keeper_client: Client, dog) -> None:
    start(keeper_client, dog, target="settle-on-mat")
    page = keeper_client.get(reverse("interval-run", args=[IntervalRun.objects.get().id])).content.decode()
    assert "It stopped" in page
    assert "It did it" not in page
