"""The events of a recording as a file: WebVTT beside the video, CSV for a spreadsheet, JSON for a program."""

from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from uuid import UUID

from pupilage import __version__
from pupilage.core.access import Actor
from pupilage.core.recordings.event_files import write_csv, write_json, write_vtt
from pupilage.services.read_recording import hear_recording


class FileFormat(StrEnum):
    """How the events go out."""

    VTT = "vtt"
    CSV = "csv"
    JSON = "json"


CONTENT_TYPE = {FileFormat.VTT: "text/vtt", FileFormat.CSV: "text/csv", FileFormat.JSON: "application/json"}


@dataclass(frozen=True)
class EventsFile:
    """A file to hand out: its name as the video's beside it, its bytes, its type."""

    name: str
    content: bytes
    content_type: str


def export_recording(actor: Actor, recording_id: UUID, file_format: FileFormat) -> EventsFile:
    """Return the file. WebVTT holds what was confirmed; CSV and JSON hold every event with its state.

    Who may: whoever may read. Raises NotFound.
    """
    heard = hear_recording(actor, recording_id)
    match file_format:
        case FileFormat.VTT:
            content = write_vtt(heard.events, version=__version__).encode()
        case FileFormat.CSV:
            content = write_csv(heard.events).encode("utf-8-sig")
        case FileFormat.JSON:
            content = write_json(
                heard.events,
                version=__version__,
                trials=heard.trials,
                figures=heard.figures,
                quality=heard.quality,
            ).encode()
    name = f"{Path(heard.file_name).stem}.{file_format.value}"
    return EventsFile(name, content, f"{CONTENT_TYPE[file_format]}; charset=utf-8")
