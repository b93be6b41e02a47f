import csv
import io
import json

import pytest

from pupilage.core.errors import InvalidInput
from pupilage.core.recordings.event_files import write_csv, write_json, write_vtt
from pupilage.core.recordings.event_reading import read_csv, read_json, read_vtt
from pupilage.core.recordings.events import Event, EventKind, EventSource, EventState
from pupilage.core.recordings.figures import figures_of
from pupilage.core.recordings.trials import fold_trials

SIT = Event(1.2345678, 1.6, EventKind.CUE, "sit", 0.83, EventState.CONFIRMED, behaviour="sit", speaker="Anna", id="a1")
YES = Event(2.5, 2.5, EventKind.MARKER, "yes <3 & -->", 0.9, EventState.CONFIRMED, EventSource.CAPTIONS, exact=False)
OPEN = Event(4.0, 4.2, EventKind.CLICK, "click", 0.6)


def text() -> str:
    return write_vtt([YES, SIT, OPEN], version="1.2", settings={"count_from": 0.5})


def test_confirmed_events_stand_in_webvtt_one_caption_each_in_time_order() -> None:
    assert text() == (
        "WEBVTT\n\n"
        'NOTE {"title": "events of a recording", "version": "1.2", "settings": {"count_from": 0.5}}\n\n'
        'NOTE {"start_s": 1.2345678, "end_s": 1.6, "kind": "cue", "label": "sit", "confidence": 0.83, '
        '"state": "confirmed", "source": "sound", "in_talk": false, "exact": true, "behaviour": "sit", '
        '"speaker": "Anna", "id": "a1"}\n\n'
        "a1\n00:00:01.235 --> 00:00:01.600\n<v Anna><c.cue>sit</c></v>\n\n"
        'NOTE {"start_s": 2.5, "end_s": 2.5, "kind": "marker", "label": "yes <3 & --\\u003e", "confidence": 0.9, '
        '"state": "confirmed", "source": "captions", "in_talk": false, "exact": false, "behaviour": "", '
        '"speaker": "", "id": ""}\n\n'
        "2\n00:00:02.500 --> 00:00:02.501\n<c.marker>yes &lt;3 &amp; --&gt;</c>\n"
    )


def test_webvtt_reads_back_whole() -> None:
    read = read_vtt(text().encode())
    assert read.events == (SIT, YES)
    assert (read.version, read.settings, read.warnings) == ("1.2", {"count_from": 0.5}, ())


def test_a_caption_moved_or_renamed_by_hand_wins_over_its_note_and_keeps_the_rest() -> None:
    changed = text().replace("01.235 --> 00:00:01.600", "01.900 --> 00:00:02.100").replace(">sit<", ">down<")
    event = read_vtt(changed.encode()).events[0]
    assert (event.start_s, event.end_s, event.label) == (1.9, 2.1, "down")
    assert (event.confidence, event.behaviour, event.speaker, event.id) == (0.83, "sit", "Anna", "a1")


def test_a_caption_taken_out_by_hand_is_gone() -> None:
    without = text().replace("a1\n00:00:01.235 --> 00:00:01.600\n<v Anna><c.cue>sit</c></v>\n\n", "")
    assert read_vtt(without.encode()).events == (YES,)


def test_a_caption_added_by_hand_is_a_confirmed_event_by_hand() -> None:
    added = text() + "\n00:09.000 --> 00:09.500\n<v Bo><c.release>free</c></v>\n\n00:11.000 --> 00:12.000\nwho knows\n"
    read = read_vtt(added.replace("\n", "\r\n").encode())
    assert read.events[-1] == Event(
        9.0, 9.5, EventKind.RELEASE, "free", None, EventState.CONFIRMED, EventSource.HAND, speaker="Bo"
    )
    assert "left out: 1" in str(read.warnings[0])


def test_other_text_is_no_event_file() -> None:
    with pytest.raises(InvalidInput, match="WEBVTT"):
        read_vtt(b"1\n00:00:01,000 --> 00:00:02,000\nSit\n")


def test_csv_has_a_header_and_no_cell_that_a_spreadsheet_would_reckon_out() -> None:
    content = write_csv([Event(1.0, 2.0, EventKind.CUE, "=1+1", speaker="'Anna")])
    header, row = csv.reader(io.StringIO(content))
    assert header[:6] == ["start_s", "end_s", "kind", "label", "confidence", "state"]
    assert (row[3], row[4], row[5], row[10]) == ("'=1+1", "", "suggested", "''Anna")
    assert read_csv(content.encode()).events == (Event(1.0, 2.0, EventKind.CUE, "=1+1", speaker="'Anna"),)


def test_csv_of_another_hand_needs_four_columns_only() -> None:
    (event,) = read_csv(b"start_s,end_s,kind,label\n1,2,marker,yes\n").events
    assert (event.state, event.source) == (EventState.CONFIRMED, EventSource.HAND)


def test_json_holds_events_trials_rates_and_quality() -> None:
    events = [SIT, YES, OPEN]
    written = write_json(
        events,
        version="1.2",
        trials=fold_trials(events),
        figures=figures_of(events),
        quality={"share_unreadable": 0.1},
    )
    content = json.loads(written)
    assert set(content["events"][0]) >= {"start_s", "end_s", "kind", "label", "confidence", "state"}
    assert content["trials"][0]["n_cues"] == 1
    assert content["rates"]["n_markers"] == {"value": 2, "low": 1, "high": 2}
    assert content["quality"] == {"share_unreadable": 0.1}
    assert read_json(written.encode()).events == (SIT, YES, OPEN)


@pytest.mark.parametrize(
    ("read", "content", "says"),
    [
        (read_json, b"[", "no JSON"),
        (read_json, b"{}", "no JSON"),
        (read_json, b'{"events": [{"start_s": 1}]}', "events[0]"),
        (read_json, b'{"events": [{"start_s": -1, "end_s": 2, "kind": "cue", "label": "sit"}, 7]}', "events[1]"),
        (read_csv, b"\xff\xfe\x00", "no CSV"),
        (read_csv, b"a,b\n1,2\n", "lacks start_s"),
        (read_csv, b"start_s,end_s,kind,label\n1,2,growl,x\nx,2,cue,sit\n", "line 3"),
        (read_csv, b"start_s,end_s,kind,label,exact\n1,2,cue,sit,perhaps\n", "neither true nor false"),
    ],
)
def test_what_is_not_right_is_refused_with_its_place(read, content: bytes, says: str) -> None:
    with pytest.raises(InvalidInput) as refused:
        read(content)
    assert says in str(refused.value)
