"""Events as files: WebVTT beside the video, CSV and JSON. All three hold every field and read back without loss.

In WebVTT each event is a caption whose class is its kind, so any player shows it; a NOTE before it holds what a caption
cannot. A caption that was changed by hand, or added, wins over its NOTE.
"""

import csv
import io
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, fields
from typing import Any

from pupilage.core.recordings.events import Event, EventState, in_time_order
from pupilage.core.recordings.figures import Range, TrialFigures
from pupilage.core.recordings.trials import HeardTrial
from pupilage.core.sheets.cells import guarded

COLUMNS = tuple(field.name for field in fields(Event))
TITLE = "events of a recording"


def write_vtt(
    events: Iterable[Event],
    *,
    version: str,
    settings: Mapping[str, Any] | None = None,
    states: Sequence[EventState] = (EventState.CONFIRMED,),
) -> str:
    """Return the events of these states as WebVTT, the confirmed ones unless told otherwise, in time order.

    settings: what the events were found with (numbers, words, lists), kept in the first NOTE with the version.
    Source: W3C, WebVTT: The Web Video Text Tracks Format, section 4; checked in tests/external/test_caption_readers.py.
    """
    about = _one_line({"title": TITLE, "version": version, "settings": dict(settings or {})})
    blocks = [f"WEBVTT\n\nNOTE {about}\n"]
    taken: set[str] = set()
    for number, event in enumerate(in_time_order(e for e in events if e.state in states), 1):
        identifier = _identifier(event, number, taken)
        blocks.append(f"NOTE {_one_line(as_row(event))}\n")
        blocks.append(f"{identifier}\n{vtt_times(event.start_s, event.end_s)}\n{vtt_payload(event)}\n")
    return "\n".join(blocks)


def vtt_times(start_s: float, end_s: float) -> str:
    """Return a line of times to the millisecond; an end is always after its start, as section 4.1 wants."""
    start_ms = round(1000 * start_s)
    return f"{_vtt_time(start_ms)} --> {_vtt_time(max(start_ms + 1, round(1000 * end_s)))}"


def vtt_payload(event: Event) -> str:
    """Return the text of an event's caption: who speaks, its kind as class, its label."""
    said = f"<c.{event.kind.value}>{vtt_text(event.label)}</c>"
    speaker = vtt_text(event.speaker)
    return f"<v {speaker}>{said}</v>" if speaker else said


def vtt_text(text: str) -> str:
    """Return text as a caption can show it: in one line, no surrogates, mark-up escaped (section 4.2.2)."""
    shown = " ".join(text.encode("utf-8", "replace").decode("utf-8").replace("\0", " ").split())
    return shown.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def write_csv(events: Iterable[Event]) -> str:
    """Return all events as CSV with a header; a cell that a spreadsheet takes for a formula begins with a quote."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n", quoting=csv.QUOTE_MINIMAL)
    writer.writerow(COLUMNS)
    for event in in_time_order(events):
        writer.writerow([_cell(value) for value in as_row(event).values()])
    return out.getvalue()


def write_json(
    events: Iterable[Event],
    *,
    version: str,
    settings: Mapping[str, Any] | None = None,
    trials: Sequence[HeardTrial] = (),
    figures: TrialFigures | None = None,
    quality: Mapping[str, Any] | None = None,
) -> str:
    """Return the whole reading of a recording as JSON: events, trials, rates with their ranges, quality."""
    content = {
        "title": TITLE,
        "version": version,
        "settings": dict(settings or {}),
        "events": [as_row(event) for event in in_time_order(events)],
        "trials": [trial_row(trial) for trial in trials],
        "rates": figure_rows(figures) if figures else {},
        "quality": dict(quality or {}),
    }
    return json.dumps(content, indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def as_row(event: Event) -> dict[str, Any]:
    """Return an event as plain values, every field by its name."""
    return {
        name: getattr(event, name).value if name in ("kind", "state", "source") else getattr(event, name)
        for name in COLUMNS
    }


def trial_row(trial: HeardTrial) -> dict[str, Any]:
    """Return a trial as plain values; what is not known is None."""
    return {
        "start_s": trial.start_s,
        "label": trial.label,
        "behaviour": trial.behaviour,
        "n_cues": len(trial.cues),
        "cues_s": [cue.start_s for cue in trial.cues],
        "marker_s": trial.marker.start_s if trial.marker else None,
        "marker": trial.marker.label if trial.marker else None,
        "first_latency_s": trial.first_latency_s,
        "last_latency_s": trial.last_latency_s,
        "reward_delay_s": trial.reward_delay_s,
        "held_s": trial.hold.held_s if trial.hold else None,
        "broke": trial.hold.broke if trial.hold else None,
        "outcome": trial.outcome,
        "n_unchecked": trial.n_unchecked,
    }


def figure_rows(figures: TrialFigures) -> dict[str, Any]:
    """Return the figures as plain values, each with low and high."""
    plain = {name: value for name, value in vars(figures).items() if isinstance(value, Range)}
    return {"n_unchecked": figures.n_unchecked, **{name: asdict(value) for name, value in plain.items()}}


def _vtt_time(ms: int) -> str:
    return f"{ms // 3_600_000:02}:{ms // 60_000 % 60:02}:{ms // 1000 % 60:02}.{ms % 1000:03}"


def _identifier(event: Event, number: int, taken: set[str]) -> str:
    """Return the event's id where it can stand in the file and is the only one, else its number."""
    plain = vtt_text(event.id)
    usable = plain == event.id and "-->" not in plain and not plain.isdecimal() and not plain.startswith(_BLOCKS)
    name = plain if plain and usable and plain not in taken else str(number)
    taken.add(name)
    return name


_BLOCKS = ("NOTE", "STYLE", "REGION", "WEBVTT")


def _one_line(values: Mapping[str, Any]) -> str:
    """Return JSON in one line without an arrow, which a NOTE must not hold (section 4.1)."""
    return json.dumps(values, ensure_ascii=True, allow_nan=False).replace(">", "\\u003e")


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float | int):
        return repr(value)
    return guarded(str(value))
