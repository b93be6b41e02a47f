"""Reads events back from the files that `event_files` writes, also after somebody has corrected them by hand."""

import csv
import io
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.recordings.captions.blocks import Caption, has_magic
from pupilage.core.recordings.captions.decoding import decode
from pupilage.core.recordings.captions.payload import pieces_of
from pupilage.core.recordings.captions.times import timing_of
from pupilage.core.recordings.event_files import COLUMNS, TITLE, vtt_payload, vtt_times
from pupilage.core.recordings.events import Event, EventKind, EventSource, EventState, in_time_order
from pupilage.core.words import Sentence, sentence

_CLASS = re.compile(r"<c\.([a-z-]+)[^<>]*>")
_TRUE, _FALSE = ("true", "1", "yes"), ("false", "0", "no", "")


@dataclass(frozen=True)
class EventFile:
    """The events of a file in time order, and what it was written with."""

    events: tuple[Event, ...]
    version: str = ""
    settings: Mapping[str, Any] = field(default_factory=dict)
    warnings: tuple[Sentence, ...] = ()


def read_vtt(content: bytes) -> EventFile:
    """Return the events of a WebVTT file of events.

    A caption as it was written gives its event back whole; one whose time or text was changed by hand keeps its other
    fields; one that was added is a confirmed event by hand, its kind the class of its text. Others are counted.
    Raises: InvalidInput for a file that is empty, no text or no WebVTT.
    """
    blocks = decode(content).text.removeprefix("\N{ZERO WIDTH NO-BREAK SPACE}").split("\n\n")
    if not has_magic(blocks[0].split("\n")):
        raise InvalidInput.of("file", "This is no WebVTT file; its first line must be WEBVTT.")
    about: dict[str, Any] = {}
    note: dict[str, Any] | None = None
    events: list[Event] = []
    unknown = 0
    for block in blocks[1:]:
        lines = [line for line in block.split("\n") if line]
        if lines and lines[0].startswith("NOTE "):
            values = _note(lines[0])
            about, note = (values, None) if values.get("title") == TITLE else (about, values)
            continue
        caption = _caption(lines)
        if caption is not None:
            event = _event(caption, note or {})
            events += [event] if event else []
            unknown += event is None
            note = None
    warnings = (
        [sentence("Captions whose text has no kind of event (such as <c.cue>), left out: {n}.", n=unknown)]
        if unknown
        else []
    )
    return EventFile(
        tuple(in_time_order(events)), str(about.get("version", "")), _mapping(about.get("settings")), tuple(warnings)
    )


def read_json(content: bytes) -> EventFile:
    """Return the events of a JSON file of a recording. Raises InvalidInput naming each event that is not right."""
    try:
        values = json.loads(content.decode("utf-8-sig"))
        rows = values["events"]
        about = (str(values.get("version", "")), _mapping(values.get("settings")))
        numbered = list(enumerate(rows))
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise InvalidInput.of("file", "This is no JSON file of a recording's events.") from error
    return EventFile(_all_or_problems((f"events[{i}]", row) for i, row in numbered), *about)


def read_csv(content: bytes) -> EventFile:
    """Return the events of a CSV file. Raises InvalidInput naming each line that is not right."""
    try:
        reader = csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline=""), strict=True)
        rows = [(f"line {reader.line_num}", _uncelled(row)) for row in reader]
    except (UnicodeDecodeError, csv.Error) as error:
        raise InvalidInput.of("file", "This is no CSV file in UTF-8.") from error
    missing = [name for name in ("start_s", "end_s", "kind", "label") if name not in (reader.fieldnames or ())]
    if missing:
        raise InvalidInput.of(
            "file", "The header lacks {names}; use the columns of the export.", names=", ".join(missing)
        )
    return EventFile(_all_or_problems(rows))


def event_of(row: Mapping[str, Any]) -> Event:
    """Return an event from plain values by field name.

    Raises: InvalidInput for values outside their range, KeyError, ValueError or TypeError for what is no value at all.
    """
    confidence = row.get("confidence")
    return Event(
        start_s=float(row["start_s"]),
        end_s=float(row["end_s"]),
        kind=EventKind(row["kind"]),
        label=_text(row["label"]),
        confidence=None if confidence is None else float(confidence),
        state=EventState(row.get("state", EventState.CONFIRMED)),
        source=EventSource(row.get("source", EventSource.HAND)),
        in_talk=_flag(row.get("in_talk", False)),
        exact=_flag(row.get("exact", True)),
        behaviour=_text(row.get("behaviour", "")),
        speaker=_text(row.get("speaker", "")),
        id=_text(row.get("id", "")),
    )


def _all_or_problems(rows: Iterable[tuple[str, Any]]) -> tuple[Event, ...]:
    events: list[Event] = []
    problems: list[Problem] = []
    for where, row in rows:
        try:
            events.append(event_of(row))
        except InvalidInput as refused:
            problems += [Problem(where, "{why}", why=str(problem)) for problem in refused.problems]
        except (KeyError, ValueError, TypeError, AttributeError) as error:
            problems.append(Problem(where, "This is no event ({why}); correct or remove it.", why=str(error)))
    if problems:
        raise InvalidInput(problems)
    return tuple(in_time_order(events))


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value


def _flag(value: object) -> bool:
    if not isinstance(value, bool):
        raise TypeError(f"{value!r} is neither true nor false")
    return value


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _uncelled(row: Mapping[str, str | None]) -> dict[str, Any]:
    values: dict[str, Any] = {name: (cell or "").removeprefix("'") for name, cell in row.items() if name in COLUMNS}
    for name in ("in_talk", "exact"):
        if name in values:
            values[name] = _truth(values[name])
    for name in ("state", "source", "confidence"):
        if values.get(name) == "":
            del values[name]
    return values


def _truth(cell: str) -> bool | str:
    folded = cell.strip().casefold()
    return True if folded in _TRUE else False if folded in _FALSE else cell


def _note(line: str) -> dict[str, Any]:
    try:
        values = json.loads(line[len("NOTE ") :])
    except (ValueError, RecursionError):
        return {}
    return values if isinstance(values, dict) else {}


def _caption(lines: list[str]) -> Caption | None:
    for i, line in enumerate(lines[:2]):
        timing = timing_of(line)
        if timing is not None:
            return Caption(timing.start_s, max(timing.start_s, timing.end_s), tuple(lines[i + 1 :]))
    return None


def _event(caption: Caption, note: Mapping[str, Any]) -> Event | None:
    """Return the event of the NOTE where the caption still says the same; else the caption's own, with its rest."""
    try:
        written = event_of(note) if note else None
    except (InvalidInput, KeyError, ValueError, TypeError):
        written = None
    times = vtt_times(caption.start_s, caption.end_s)
    payload = "\n".join(caption.lines)
    if written is not None and vtt_times(written.start_s, written.end_s) == times and vtt_payload(written) == payload:
        return written
    return _changed(caption, payload, written)


def _changed(caption: Caption, payload: str, written: Event | None) -> Event | None:
    named = _CLASS.search(payload)
    kinds = {kind.value: kind for kind in EventKind}
    kind = kinds.get(named[1]) if named else None
    pieces = pieces_of(caption.lines)
    label = " ".join("".join(piece.text for piece in pieces).split())
    speaker = next((piece.speaker for piece in pieces if piece.speaker), "")
    if kind is None:
        return None
    if written is None:
        return Event(
            caption.start_s,
            caption.end_s,
            kind,
            label,
            state=EventState.CONFIRMED,
            source=EventSource.HAND,
            speaker=speaker,
        )
    same_times = vtt_times(written.start_s, written.end_s) == vtt_times(caption.start_s, caption.end_s)
    start_s, end_s = (written.start_s, written.end_s) if same_times else (caption.start_s, caption.end_s)
    kept = {name: getattr(written, name) for name in COLUMNS}
    return Event(**{**kept, "start_s": start_s, "end_s": end_s, "kind": kind, "label": label, "speaker": speaker})
