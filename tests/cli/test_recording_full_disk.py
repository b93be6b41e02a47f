"""Recordings on a disk that is full: said before the first byte, and nothing is half brought in."""

import json
import os
import struct
import subprocess
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import numpy as np
import pytest
from django.test import Client

from pupilage.cli.failing import EXIT_CODES
from pupilage.core.errors import StorageTrouble
from pupilage.core.recordings.reading import WordRole
from pupilage.services import bring_recording
from pupilage.services.add_sample import add_sound
from pupilage.services.keep_voice import VoiceEntry, keep_voice
from pupilage.services.keep_word import WordEntry, keep_word
from pupilage.storage import recording_files
from pupilage.storage.models import Recording, Voice, VoiceSample
from pupilage.storage.sound.cutting import as_wav
from pupilage.storage.troubles import explain
from small_disks import small_disk

pytestmark = pytest.mark.django_db
GB = 1 << 30
NOISE = as_wav(np.random.default_rng(1).standard_normal(90 * 16_000).astype(np.float32) * 0.01)
"""A minute and a half: 2.9 MB."""


@pytest.fixture
def disk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A data folder on a disk of 4 MB."""
    with small_disk(tmp_path / "disk", kib=4096) as folder:
        monkeypatch.setenv("PUPILAGE_DATA", str(folder))
        yield folder


@pytest.fixture
def huge(tmp_path: Path) -> Path:
    """A sound of 10 GB, most of it a box without content, which is a hole in the file."""
    file = tmp_path / "huge.mp4"
    tone = ["-f", "lavfi", "-i", "sine=frequency=440:duration=20"]
    subprocess.run(["ffmpeg", "-v", "error", "-y", *tone, str(file)], check=True, timeout=60)
    with file.open("ab") as out:
        out.write(struct.pack(">I4sQ", 1, b"free", 10 * GB - file.stat().st_size))
    os.truncate(file, 10 * GB)
    return file


def nothing_is_left(disk: Path) -> bool:
    files = [one for one in (disk / "recordings").iterdir() if one.is_file()]
    return not Recording.objects.exists() and not Voice.objects.exists() and not files


def fill(disk: Path) -> Path:
    """Fill the disk with something else, and return it."""
    junk = disk / "junk"
    with junk.open("wb", buffering=0) as out:
        try:
            while out.write(bytes(1 << 14)):
                pass
        except OSError:
            pass
    return junk


def test_ten_gigabytes_are_refused_before_the_first_byte(run, programme, disk, huge):
    for command in (("read", huge), ("enrol", huge, "--voice", "Wren", "--background", "0:10-0:20")):
        told = run("recording", *command)
        assert told.exit_code == EXIT_CODES["storage"]
        assert "The recording has 10737 MB and the disk of" in told.output
        assert "Nothing was stored." in told.output
        assert nothing_is_left(disk)


def test_ten_gigabytes_are_refused_by_the_page(client: Client, actor, dog, disk):
    from pupilage.storage.models import User

    client.force_login(User.objects.get(id=actor.user_id))
    body = {"id": str(uuid4()), "name": "huge.mp4", "size": 10 * GB}
    answer = client.post(f"/dogs/{dog}/recordings/begin/", json.dumps(body), content_type="application/json")
    assert answer.status_code == 507
    assert "has 4 MB free" in answer.json()["problems"][0]
    assert nothing_is_left(disk)


def test_a_copy_during_which_the_disk_fills_leaves_nothing(run, programme, disk, tmp_path, monkeypatch):
    monkeypatch.setattr(recording_files, "SPARE_BYTES", 0)
    really = recording_files.copy_in

    def copy_in(source, target, *, told):
        really(source, target, told=lambda n: (told(n), fill(disk)))

    monkeypatch.setattr(bring_recording.recording_files, "copy_in", copy_in)
    file = tmp_path / "garden.wav"
    file.write_bytes(NOISE)
    shown = run("recording", "read", file)
    assert shown.exit_code == EXIT_CODES["storage"]
    assert "The disk is full" in shown.output
    assert nothing_is_left(disk)
    (disk / "junk").unlink()
    monkeypatch.setattr(bring_recording.recording_files, "copy_in", really)
    assert run("recording", "read", file).exit_code == 0


def test_pieces_go_on_once_there_is_room_again(client: Client, actor, dog, disk, monkeypatch):
    from pupilage.storage.models import User

    monkeypatch.setattr(recording_files, "SPARE_BYTES", 0)
    client.force_login(User.objects.get(id=actor.user_id))
    client.raise_request_exception = False
    recording_id = str(uuid4())
    body = {"id": recording_id, "name": "garden.wav", "size": len(NOISE)}
    client.post(f"/dogs/{dog}/recordings/begin/", json.dumps(body), content_type="application/json")

    def send(offset: int, n: int):
        piece = NOISE[offset : offset + n]
        kind = "application/octet-stream"
        return client.post(
            f"/recordings/{recording_id}/bytes/", piece, content_type=kind, headers={"Upload-Offset": str(offset)}
        )

    assert send(0, 1 << 20).json()["n_bytes"] == 1 << 20
    junk = fill(disk)
    refused = send(1 << 20, 1 << 20)
    assert refused.status_code == 507
    assert "The disk is full" in refused.json()["problems"][0]
    assert Recording.objects.get().n_bytes == 1 << 20
    junk.unlink()
    assert send(1 << 20, len(NOISE)).json() == {"id": recording_id, "n_bytes": len(NOISE), "arriving": False}
    assert recording_files.recording_file(Recording.objects.get().id).read_bytes() == NOISE


def test_an_example_that_finds_no_room_leaves_nothing(actor, disk, now):
    word = keep_word(actor, keep_voice(actor, VoiceEntry("Wren"), now=now), WordEntry("sit", WordRole.CUE), now=now)
    recording_files.recordings_folder()
    fill(disk)
    with pytest.raises(OSError, match="No space left") as refused:
        add_sound(actor, word, NOISE, "own.wav", now=now)
    assert isinstance(explain(refused.value), StorageTrouble)
    assert not VoiceSample.objects.exists()
    assert not list((disk / "recordings").glob("sample-*"))
