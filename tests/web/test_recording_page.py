"""The page of one recording: what it shows and to whom, what it takes, what it hands out."""

import json
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from made_recordings import made_events
from pupilage.core.access import Actor
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.read_waiting import Heard, read_waiting
from pupilage.storage.models import RecordingJudgement, Trial

pytestmark = pytest.mark.django_db


@pytest.fixture
def read(actor: Actor, dog: UUID, programme: UUID, now: datetime) -> UUID:
    """The id of a recording of two minutes that was read."""
    new = NewRecording("garden.wav", 4, began_at=now - timedelta(hours=1), programme_id=programme)
    recording_id = begin_recording(actor, dog, new, now=now)
    add_bytes(actor, recording_id, 0, [b"RIFF"], now=now)
    reasons = [["The recording is too short to judge: what is found are suggestions only.", {}]]
    heard = Heard([(event, None) for event in made_events(120.0)], 120.0, quality={"reasons": reasons})
    read_waiting("reader", lambda _recording, _told: heard, lambda: now)
    return recording_id


def state_of(client: Client, recording_id: UUID) -> dict[str, Any]:
    page = client.get(reverse("recording", args=[recording_id])).content.decode()
    return json.loads(page.split('<script id="state" type="application/json">')[1].split("</script>")[0])


def send(client: Client, recording_id: UUID, *entries: dict[str, Any]) -> Any:
    body = json.dumps({"entries": list(entries)})
    return client.post(reverse("recording-judge", args=[recording_id]), body, content_type="application/json")


def judge(event: str, **changes: Any) -> dict[str, Any]:
    return {"id": str(uuid4()), "what": "judge", "event": event, "state": "confirmed", **changes}


def test_the_page_shows_player_figures_and_what_makes_it_hard_to_hear(keeper_client: Client, read: UUID) -> None:
    page = keeper_client.get(reverse("recording", args=[read])).content.decode()
    assert reverse("recording-sound", args=[read]) in page
    assert "too short to judge" in page
    assert "What the words say" in page
    assert "suggestions are not checked" in page


def test_a_reader_sees_no_keys_and_not_what_the_words_say_of_the_trainer(reader_client: Client, read: UUID) -> None:
    page = reader_client.get(reverse("recording", args=[read])).content.decode()
    assert 'data-do="right"' not in page
    assert "What the words say" not in page


def test_entries_are_stored_once_and_named(keeper_client: Client, read: UUID) -> None:
    event = state_of(keeper_client, read)["events"][0]
    entry = judge(event["id"], outcome="met" if event["kind"] == "cue" else None)
    for _ in range(2):
        assert send(keeper_client, read, entry).json() == {"kept": [entry["id"]], "problems": []}
    assert RecordingJudgement.objects.count() == 1
    back = {"id": str(uuid4()), "what": "back", "takes": entry["id"]}
    send(keeper_client, read, back, back)
    assert state_of(keeper_client, read)["events"][0]["state"] == "suggested"


def test_an_entry_whose_event_is_gone_is_told_and_does_not_hold_up_the_others(
    keeper_client: Client, read: UUID
) -> None:
    event = state_of(keeper_client, read)["events"][0]
    gone, known = judge(str(uuid4())), judge(event["id"])
    answer = send(keeper_client, read, gone, known).json()
    assert answer["kept"] == [gone["id"], known["id"]]
    assert "read anew" in answer["problems"][0]
    assert state_of(keeper_client, read)["events"][0]["state"] == "confirmed"


def test_an_added_event_is_confirmed_at_once(keeper_client: Client, read: UUID) -> None:
    added = {"id": str(uuid4()), "what": "add", "kind": "cue", "label": "sit", "behaviour": "sit", "start_s": 61.5}
    send(keeper_client, read, added)
    found = next(one for one in state_of(keeper_client, read)["events"] if one["id"] == added["id"])
    assert (found["state"], found["start"], found["label"]) == ("confirmed", 61.5, "sit")


@pytest.mark.parametrize("body", ["[]", '{"entries": [{"id": "x"}]}', "not json"])
def test_what_cannot_be_read_is_refused(keeper_client: Client, read: UUID, body: str) -> None:
    address = reverse("recording-judge", args=[read])
    assert keeper_client.post(address, body, content_type="application/json").status_code == 400


def test_checked_tries_count_from_the_page(keeper_client: Client, read: UUID) -> None:
    events = state_of(keeper_client, read)["events"]
    told = [judge(one["id"], outcome="met" if one["kind"] == "cue" else None) for one in events]
    send(keeper_client, read, *told)
    amounts = keeper_client.get(reverse("recording-amounts", args=[read])).json()
    assert amounts["left"]["to_check"] == []
    from pupilage.storage.catalogue_files import load_catalogue

    behaviours = load_catalogue().behaviours
    steps = {f"step-{key}": behaviours[key].steps[0].key for key in ("sit", "down", "hand-target")}
    answer = keeper_client.post(reverse("recording-count", args=[read]), steps, follow=True)
    assert "written down now" in answer.content.decode()
    assert Trial.objects.filter(source="recorded").count() > 3


def test_counting_without_a_step_says_what_is_missing(keeper_client: Client, read: UUID) -> None:
    events = state_of(keeper_client, read)["events"]
    send(keeper_client, read, *(judge(one["id"], outcome="met" if one["kind"] == "cue" else None) for one in events))
    answer = keeper_client.post(reverse("recording-count", args=[read]), {}, follow=True)
    assert "Say which step" in answer.content.decode()
    assert not Trial.objects.exists()


@pytest.mark.parametrize(
    ("file_format", "begins"), [("vtt", b"WEBVTT"), ("csv", b"\xef\xbb\xbfstart_s"), ("json", b"{")]
)
def test_events_go_out_as_files(keeper_client: Client, read: UUID, file_format: str, begins: bytes) -> None:
    answer = keeper_client.get(reverse("recording-events", args=[read]), {"format": file_format})
    assert answer.content.startswith(begins)
    assert f'filename="garden.{file_format}"' in answer["Content-Disposition"]
    assert keeper_client.get(reverse("recording-events", args=[read]), {"format": "doc"}).status_code == 400


def test_a_corrected_file_is_taken_over(keeper_client: Client, read: UUID) -> None:
    content = b"WEBVTT\n\n00:01:00.000 --> 00:01:00.500\n<c.cue>sit</c>\n"
    upload = SimpleUploadedFile("garden.vtt", content)
    answer = keeper_client.post(reverse("recording-correct", args=[read]), {"events": upload}, follow=True)
    assert "1 added" in answer.content.decode()
