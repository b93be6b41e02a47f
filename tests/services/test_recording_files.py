"""The events of a recording with the oddest labels go out as files and come back whole."""

import csv
import io
import json
from uuid import UUID

import pytest

from pupilage.core.recordings.event_reading import read_csv, read_json, read_vtt
from pupilage.core.recordings.events import Event, EventKind, EventState
from pupilage.services.bring_recording import NewRecording, add_bytes, begin_recording
from pupilage.services.correct_recording import correct_recording
from pupilage.services.export_recording import FileFormat, export_recording
from pupilage.services.judge_recording import AddedEvent, Judgement, add_event, judge_events
from pupilage.services.read_waiting import Heard, read_waiting
from pupilage.storage.models import RecordingJudgement
from pupilage.storage.queries.recordings import list_recording_events, recording_readable_by

ODD = (
    "sit, down; come",
    'say "sit"',
    "don't",
    "two\nlines",
    "blank\n\nline",
    "Windows\r\nlines",
    "old\rMac",
    "a --> b",
    "-->",
    "<v Bo>sit</v>",
    "<c.cue>sit</c>",
    "00:01.000 --> 00:02.000",
    "NOTE sit",
    "WEBVTT",
    "&lt;sit&gt; &amp;amp; &nbsp;",
    "🐕‍🦺 sit 👩🏽‍🏫",
    "اجلس",
    "‮tis‬",
    "すわれ",
    "=1+1",
    '=HYPERLINK("http://x.example","sit")',
    "+1",
    "-1",
    "@sum",
    "'quoted",
    "''twice",
    "\ttab",
    "  spaces  ",
    "line\u2028separator\u0085next",
    "\N{ZERO WIDTH NO-BREAK SPACE}bom",
    '{"title": "events of a recording"}',
    "42",
    "true",
    "",
)


@pytest.fixture
def recording(actor, dog, programme, now):
    """A recording with each label heard as a cue of an odd person, confirmed, and once more added by hand."""
    recording_id = begin_recording(actor, dog, NewRecording("garden.mp4", 4, programme_id=programme), now=now)
    add_bytes(actor, recording_id, 0, [b"RIFF"], now=now)
    events = [
        (Event(i + 0.123456, i + 0.5, EventKind.CUE, label, 0.75, speaker=ODD[-1 - i]), None)
        for i, label in enumerate(ODD)
    ]
    read_waiting("reader", lambda _recording, _told: Heard(events, 600.0), lambda: now)
    heard = list_recording_events(recording_readable_by(actor, recording_id))
    said = [Judgement(UUID(event.id), EventState.CONFIRMED) for event in heard]
    judge_events(actor, recording_id, said, now=now)
    for i, label in enumerate(ODD):
        add_event(actor, recording_id, AddedEvent(300.0 + i, EventKind.MARKER, label), now=now)
    return recording_id


def events_of(actor, recording):
    return tuple(list_recording_events(recording_readable_by(actor, recording)))


@pytest.mark.parametrize(
    ("file_format", "reads"), [(FileFormat.VTT, read_vtt), (FileFormat.CSV, read_csv), (FileFormat.JSON, read_json)]
)
def test_what_goes_out_reads_back_without_loss(actor, recording, file_format, reads):
    found = export_recording(actor, recording, file_format)
    assert found.name == f"garden.{file_format.value}"
    events = events_of(actor, recording)
    assert [event.label for event in events] == [*ODD, *ODD]
    assert reads(found.content).events == events


def test_the_file_beside_the_video_changes_nothing_when_it_comes_back(actor, recording, now):
    content = export_recording(actor, recording, FileFormat.VTT).content
    n_judged = RecordingJudgement.objects.count()
    for sent in (content, content.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + content):
        found = correct_recording(actor, recording, sent, now=now)
        assert (found.n_judged, found.n_added, found.warnings) == (0, 0, ())
    assert RecordingJudgement.objects.count() == n_judged


def test_the_file_beside_the_video_fills_a_recording_that_has_nothing(actor, dog, recording, now):
    content = export_recording(actor, recording, FileFormat.VTT).content
    other = begin_recording(actor, dog, NewRecording("copy.mp4", 5), now=now)
    add_bytes(actor, other, 0, [b"RIFFx"], now=now)
    read_waiting("reader", lambda _recording, _told: Heard([], 600.0), lambda: now)
    assert correct_recording(actor, other, content, now=now).n_added == 2 * len(ODD)
    told = [(event.start_s, event.kind, event.label) for event in events_of(actor, recording)]
    assert [(event.start_s, event.kind, event.label) for event in events_of(actor, other)] == told
    assert correct_recording(actor, other, content, now=now).n_added == 0


def test_no_cell_begins_a_formula_and_other_programs_read_the_same(actor, recording):
    table = export_recording(actor, recording, FileFormat.CSV).content.decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(table, newline="")))
    assert len(rows) == 2 * len(ODD)
    for row in rows:
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row.values())
    assert [row["label"].removeprefix("'") for row in rows[: len(ODD)]] == list(ODD)
    found = json.loads(export_recording(actor, recording, FileFormat.JSON).content)
    assert [event["label"] for event in found["events"]] == [*ODD, *ODD]
