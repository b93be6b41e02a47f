"""Push for phones: verdicts for each event, and refusals a phone can tell from an answer."""

import json
from datetime import timedelta
from uuid import UUID, uuid4

import pytest
from django.test import Client
from django.urls import reverse

from pupilage.core.access import Actor
from pupilage.services.read_owner import read_owner
from pupilage.storage.catalogue_files import load_catalogue
from pupilage.storage.models import Installation, SessionEvent, User
from pupilage.web import clock

pytestmark = pytest.mark.django_db


def signed_in(actor: Actor, **options: object) -> Client:
    client = Client(**options)
    client.force_login(User.objects.get(pk=actor.user_id))
    return client


@pytest.fixture
def client(actor: Actor) -> Client:
    return signed_in(actor)


def events_of(programme: UUID, *outcomes: str) -> list[dict[str, object]]:
    session, device, at = str(uuid4()), str(uuid4()), clock.now() - timedelta(minutes=5)
    step = load_catalogue().behaviours["sit"].steps[0].key
    entries = [("session-started", {"programme": str(programme), "behaviour": "sit", "step": step, "pieces": 9})]
    entries += [("trial", {"outcome": outcome, "pieces": 1}) for outcome in outcomes]
    return [
        {
            "id": str(uuid4()), "device_id": device, "device_seq": n, "session_id": session, "kind": kind,
            "at": (at + timedelta(seconds=6 * n)).isoformat(), "tz_offset_min": 60, "payload": payload,
        }
        for n, (kind, payload) in enumerate(entries)
    ]  # fmt: skip


def push(client: Client, owner: str, events: list[object], **headers: str) -> object:
    body = json.dumps({"owner": owner, "events": events})
    return client.post(reverse("sync-push"), body, content_type="application/json", **headers)


def test_push_answers_each_event_and_the_session_it_touched(client: Client, actor: Actor, programme: UUID) -> None:
    events = events_of(programme, "met", "met", "missed")
    answer = push(client, read_owner(actor), events)
    assert answer.status_code == 200
    body = answer.json()
    assert [verdict["status"] for verdict in body["verdicts"]] == ["stored"] * 4
    assert [verdict["id"] for verdict in body["verdicts"]] == [event["id"] for event in events]
    state = body["sessions"][events[0]["session_id"]]
    assert (state["n"], state["n_met"], state["pieces_left"]) == (3, 2, 6)
    assert state["decision"]["reason"] == "Not enough yet: has 3 of 5 trials at this step."
    assert state["decision"]["word"] == "Keep"


def test_push_tells_of_the_sessions_that_the_phone_wants(client: Client, actor: Actor, programme: UUID) -> None:
    first, second = events_of(programme, "met"), events_of(programme, "met")
    wanted, other = second[0]["session_id"], str(uuid4())
    body = json.dumps({"owner": read_owner(actor), "events": [*first, *second], "show": [wanted, other]})
    answer = client.post(reverse("sync-push"), body, content_type="application/json").json()
    assert list(answer["sessions"]) == [wanted]
    assert [verdict["status"] for verdict in answer["verdicts"]] == ["stored"] * 4


def test_second_push_is_answered_as_duplicates(client: Client, actor: Actor, programme: UUID) -> None:
    events = events_of(programme, "met")
    push(client, read_owner(actor), events)
    again = push(client, read_owner(actor), events).json()
    assert [verdict["status"] for verdict in again["verdicts"]] == ["duplicate"] * 2
    assert SessionEvent.objects.count() == 2


@pytest.mark.parametrize(
    "spoil",
    [
        {"kind": "dance"},
        {"at": "2026-05-12T08:30:00"},
        {"at": "yesterday"},
        {"id": "7"},
        {"device_seq": -1},
        {"tz_offset_min": 5000},
        {"extra": 1},
        {"payload": "met"},
    ],
)
def test_misshapen_event_is_rejected_alone(
    client: Client, actor: Actor, programme: UUID, spoil: dict[str, object]
) -> None:
    events = events_of(programme, "met", "met")
    events[1] = {**events[1], **spoil}
    verdicts = {v["id"]: v for v in push(client, read_owner(actor), events).json()["verdicts"]}
    spoiled = verdicts[str(events[1]["id"])]
    assert spoiled["status"] == "rejected"
    assert spoiled["code"] == "misshapen"
    assert spoiled["reason"]
    assert verdicts[events[0]["id"]]["status"] == verdicts[events[2]["id"]]["status"] == "stored"


@pytest.mark.parametrize("body", ["", "[]", "{}", '{"owner": 3, "events": []}', "\xff", '{"owner": "a", "events": 1}'])
def test_body_that_is_no_push_is_refused_as_json(client: Client, body: str) -> None:
    answer = client.post(reverse("sync-push"), body, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["code"] == "invalid"


def test_more_than_200_events_are_refused(client: Client, actor: Actor, programme: UUID) -> None:
    answer = push(client, read_owner(actor), events_of(programme, *["met"] * 200))
    assert answer.status_code == 400
    assert not SessionEvent.objects.exists()


def test_queue_of_another_person_is_not_stored(client: Client, stranger: Actor, programme: UUID) -> None:
    answer = push(client, read_owner(stranger), events_of(programme, "met"))
    assert (answer.status_code, answer.json()["code"]) == (409, "other-owner")
    assert not SessionEvent.objects.exists()


def test_queue_from_before_a_restored_backup_is_not_stored(client: Client, actor: Actor, programme: UUID) -> None:
    owner = read_owner(actor)
    Installation.objects.update(database_id=uuid4())
    assert push(client, owner, events_of(programme, "met")).status_code == 409


def test_reader_is_refused_as_json(reader: Actor, programme: UUID) -> None:
    answer = push(signed_in(reader), read_owner(reader), events_of(programme, "met"))
    assert (answer.status_code, answer.json()["code"]) == (403, "forbidden")
    assert not SessionEvent.objects.exists()


def test_signed_out_phone_is_sent_to_sign_in_and_nothing_is_stored(actor: Actor, programme: UUID) -> None:
    answer = push(Client(), read_owner(actor), events_of(programme, "met"))
    assert answer.status_code == 302
    assert not SessionEvent.objects.exists()


def test_push_without_a_token_is_refused(actor: Actor, programme: UUID) -> None:
    client = signed_in(actor, enforce_csrf_checks=True)
    events = events_of(programme, "met")
    assert push(client, read_owner(actor), events).status_code == 403
    token = client.get(reverse("sync-token")).json()
    assert token["owner"] == read_owner(actor)
    assert push(client, token["owner"], events, HTTP_X_CSRFTOKEN=token["token"]).status_code == 200


def test_token_is_never_cached(client: Client) -> None:
    assert "no-store" in client.get(reverse("sync-token"))["Cache-Control"]


def test_state_of_a_session_is_given_to_its_workspace_only(
    client: Client, actor: Actor, stranger: Actor, programme: UUID
) -> None:
    events = events_of(programme, "met")
    push(client, read_owner(actor), events)
    address = reverse("sync-session", args=[events[0]["session_id"]])
    assert client.get(address).json()["n"] == 1
    assert signed_in(stranger).get(address).status_code == 404


def test_probe_measures_and_decides_nothing(client: Client, actor: Actor, programme: UUID) -> None:
    events = events_of(programme, "met", "missed", "met", "met")
    events[0]["payload"]["kind"] = "probe"
    body = push(client, read_owner(actor), events).json()
    state = body["sessions"][events[0]["session_id"]]
    assert state["decision"]["word"] == "Measure"
    assert state["decision"]["reason"] == "4 cold tries are enough: end here, and train another time."
    assert state["decision"]["step"] == state["step"]
    assert (state["set_of_five"], state["chance"]) == (None, "")


def test_state_is_the_same_after_a_replay_of_the_log(client: Client, actor: Actor, programme: UUID) -> None:
    from pupilage.core.training.record.evidence import TrialSource
    from pupilage.services.record_events import fold_again

    events = events_of(programme, "met", "helped", "met", "missed", "met", "met")
    push(client, read_owner(actor), events)
    address = reverse("sync-session", args=[events[0]["session_id"]])
    before = client.get(address).json()
    fold_again(actor, UUID(str(events[0]["session_id"])), TrialSource.TAPPED)
    after = client.get(address).json()
    assert {**before, "per_min": None} == {**after, "per_min": None}
