"""`pupilage recording`: what is left to check, and events as files."""

import json
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from made_recordings import made_events
from pupilage.core.access import Actor
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.read_waiting import Heard, read_waiting

pytestmark = pytest.mark.django_db


@pytest.fixture
def recording(actor: Actor, dog: UUID, programme: UUID, now: datetime) -> UUID:
    new = NewRecording("garden.wav", 4, began_at=now - timedelta(hours=1), programme_id=programme)
    recording_id = begin_recording(actor, dog, new, now=now)
    add_bytes(actor, recording_id, 0, [b"RIFF"], now=now)
    heard = Heard([(event, None) for event in made_events(120.0)], 120.0, quality={"noise_db": -50.0})
    read_waiting("reader", lambda _recording, _told: heard, lambda: now)
    return recording_id


def test_check_lists_what_is_left(run: Any, recording: UUID) -> None:
    shown = run("recording", "check", recording).output
    assert "To check: " in shown
    assert "Tries: " in shown


def test_json_has_events_trials_rates_and_quality(run: Any, recording: UUID) -> None:
    found = json.loads(run("recording", "check", recording, "--json").output)
    assert {"start_s", "end_s", "kind", "label", "confidence", "state"} <= set(found["events"][0])
    assert found["trials"]
    assert found["rates"]["n_trials"]["high"] >= found["rates"]["n_trials"]["low"]
    assert found["quality"] == {"noise_db": -50.0}


@pytest.mark.parametrize(("file_format", "begins"), [("vtt", "WEBVTT"), ("csv", "\ufeffstart_s"), ("json", "{")])
def test_export_writes_to_a_file_or_to_the_screen(
    run: Any, recording: UUID, tmp_path: Path, file_format: str, begins: str
) -> None:
    out = tmp_path / "events"
    run("recording", "export", recording, "--format", file_format, "--out", out)
    assert out.read_bytes().decode().startswith(begins)
    assert run("recording", "export", recording, "--format", file_format).output.startswith(begins)
