"""Bringing a recording in from a page, and playing it: pieces, ranges, refusals."""

import json
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from pupilage.storage.models import Recording

pytestmark = pytest.mark.django_db


def begin(client: Client, dog: UUID, **changes: Any) -> Any:
    body = {"id": str(uuid4()), "name": "garden.mp4", "size": 10, **changes}
    return client.post(reverse("recording-begin", args=[dog]), json.dumps(body), content_type="application/json")


def send(client: Client, recording_id: str, offset: int | str, piece: bytes) -> Any:
    address = reverse("recording-bytes", args=[recording_id])
    headers = {"Upload-Offset": str(offset)}
    return client.post(address, piece, content_type="application/octet-stream", headers=headers)


def test_a_file_arrives_in_pieces_and_goes_on_where_it_broke_off(keeper_client: Client, dog: UUID) -> None:
    state = begin(keeper_client, dog).json()
    assert (state["n_bytes"], state["arriving"]) == (0, True)
    assert send(keeper_client, state["id"], 0, b"01234").json()["n_bytes"] == 5
    known = keeper_client.get(reverse("recording-bytes", args=[state["id"]])).json()
    assert known["n_bytes"] == 5
    assert send(keeper_client, state["id"], 5, b"56789").json()["arriving"] is False
    page = keeper_client.get(reverse("recordings", args=[dog])).content.decode()
    assert "garden.mp4" in page
    assert "Waits to be read" in page


def test_the_same_file_chosen_again_goes_on(keeper_client: Client, dog: UUID) -> None:
    same = str(uuid4())
    send(keeper_client, begin(keeper_client, dog, id=same).json()["id"], 0, b"012")
    assert begin(keeper_client, dog, id=same).json()["n_bytes"] == 3


def test_an_arrival_called_off_is_gone_and_its_sender_is_told(keeper_client: Client, dog: UUID) -> None:
    state = begin(keeper_client, dog).json()
    send(keeper_client, state["id"], 0, b"01234")
    answer = keeper_client.post(reverse("recording-cancel", args=[state["id"]]))
    assert answer.url == reverse("recordings", args=[dog])
    assert not Recording.objects.exists()
    refused = send(keeper_client, state["id"], 5, b"56789")
    assert refused.status_code == 404
    assert "There is no such recording here" in refused.json()["problems"][0]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"name": "notes.pdf"}, "is no sound, video or captions"),
        ({"size": 0}, "is empty"),
        ({"purpose": "dinner"}, "The page sent something unreadable"),
        ({"began_at": "2099-01-01T00:00:00Z"}, "cannot begin in the future"),
    ],
)
def test_a_refusal_is_a_sentence(keeper_client: Client, dog: UUID, changes: dict[str, Any], says: str) -> None:
    answer = begin(keeper_client, dog, **changes)
    assert answer.status_code == 400
    assert says in answer.json()["problems"][0]
    assert not Recording.objects.exists()


@pytest.mark.parametrize("offset", ["", "-1", "²", "ten"])
def test_a_piece_must_say_where_it_begins(keeper_client: Client, dog: UUID, offset: str) -> None:
    state = begin(keeper_client, dog).json()
    address = reverse("recording-bytes", args=[state["id"]])
    environ = {"HTTP_UPLOAD_OFFSET": offset}
    answer = keeper_client.post(address, b"0", content_type="application/octet-stream", **environ)
    assert answer.status_code == 400


@pytest.mark.parametrize(
    ("asked", "status", "gets", "told"),
    [
        ("", 200, b"RIFF", None),
        ("bytes=0-1", 206, b"RI", "bytes 0-1/4"),
        ("bytes=2-", 206, b"FF", "bytes 2-3/4"),
        ("bytes=-1", 206, b"F", "bytes 3-3/4"),
        ("bytes=1-99", 206, b"IFF", "bytes 1-3/4"),
        ("bytes=4-", 416, b"", "bytes */4"),
        ("lines=1-2", 200, b"RIFF", None),
    ],
)
def test_a_player_gets_the_range_it_asks_for(
    keeper_client: Client, recording: UUID, asked: str, status: int, gets: bytes, told: str | None
) -> None:
    """RFC 9110, section 14: 206 with Content-Range, 416 with the length, an unknown unit is ignored."""
    answer = keeper_client.get(reverse("recording-sound", args=[recording]), headers={"Range": asked} if asked else {})
    body = b"".join(answer.streaming_content) if answer.streaming else answer.content
    assert (answer.status_code, body, answer.headers.get("Content-Range")) == (status, gets, told)
    if status != 416:
        assert answer["Content-Type"] == "audio/wav"
        assert "sandbox" in answer["Content-Security-Policy"]


def test_captions_are_put_beside_and_others_refused(keeper_client: Client, recording: UUID) -> None:
    address = reverse("recording-captions", args=[recording])
    assert keeper_client.post(address).status_code == 400
    pdf = SimpleUploadedFile("talk.pdf", b"1")
    assert "is no file of captions" in keeper_client.post(address, {"captions": pdf}).content.decode()
    vtt = SimpleUploadedFile("garden.vtt", b"WEBVTT\n\n00:01.000 --> 00:02.000\nSit\n")
    assert keeper_client.post(address, {"captions": vtt}).status_code == 302
    assert Recording.objects.get(id=recording).captions_name == "garden.vtt"


def test_deleting_says_what_is_left(keeper_client: Client, recording: UUID, dog: UUID) -> None:
    address = reverse("recording-forget", args=[recording])
    assert "what was heard in it stays" in keeper_client.post(address, {"only": "sound"}, follow=True).content.decode()
    assert keeper_client.get(reverse("recording-sound", args=[recording])).status_code == 404
    page = keeper_client.post(address, {"only": ""}, follow=True).content.decode()
    assert "Backups made before today still have it" in page
    assert not Recording.objects.exists()
