"""`pupilage recording read | work | watch`: bringing recordings in and reading them."""

import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

import click

from pupilage.cli.clock import now
from pupilage.cli.commands.programme import find_programme_id
from pupilage.cli.printing import json_option, print_table
from pupilage.cli.project import Choice, act, start_django
from pupilage.core.errors import InvalidInput
from pupilage.core.words import Sentence

if TYPE_CHECKING:
    from pupilage.core.access import Actor

LOOKED_EVERY_S = 2.0
STILL_FOR_S = 5.0
"""A file that has not grown for so long has been copied whole."""


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--captions", type=click.Path(path_type=Path), help="Captions of it, when not beside it.", metavar="FILE")
@click.option("--alone", is_flag=True, help="It is of the pup alone, not of a session.")
@click.option("--programme", type=click.UUID, help="The programme.  [default: the one that runs]", metavar="ID")
@click.option("--voice", "voices", multiple=True, help="Who gives cues in it; may be repeated.", metavar="NAME")
@json_option
@click.pass_obj
def read(
    choice: Choice,
    file: Path,
    captions: Path | None,
    alone: bool,
    programme: UUID | None,
    voices: tuple[str, ...],
    as_json: bool,
) -> None:
    """Bring in a video, a sound or a file of captions, and read it.

    Captions of the same name beside a video are read with it. What is heard waits to be checked.
    """
    size = _size_of(file)
    actor = act(choice)
    recording_id = bring(actor, file, size, captions or _beside(file), alone=alone, programme=programme, voices=voices)
    _read_now(actor, recording_id)
    _show(actor, recording_id, as_json=as_json)


@click.command()
@click.option("--wait", is_flag=True, help="Do not end when all is read: wait for more.")
@click.pass_obj
def work(choice: Choice, wait: bool) -> None:
    """Learn the voices and read the recordings that wait, and end. The pages start this by themselves."""
    start_django(demo=choice.demo)
    from pupilage.services.long_work import is_work_left
    from pupilage.storage.database import open_database
    from pupilage.storage.reader_process import lower_priority, sole_reader

    open_database()
    lower_priority()
    while True:
        with sole_reader() as name:
            if name is None:
                click.echo("Another reader is at work already; it reads this too.")
                return
            _work(name, wait=wait)
        # One that was started while this one was about to end has gone already: what it was started for is ours.
        if not is_work_left():
            return


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--programme", type=click.UUID, help="The programme.  [default: the one that runs]", metavar="ID")
@click.option("--once", is_flag=True, help="Bring in what is there, and end.")
@click.pass_obj
def watch(choice: Choice, folder: Path, programme: UUID | None, once: bool) -> None:
    """Bring in every recording that is put into a folder, and read it. Ctrl-C ends it."""
    if not folder.is_dir():
        raise InvalidInput.of("folder", "There is no folder {folder}; check the name.", folder=str(folder))
    actor = act(choice)
    click.echo(f"Watching {folder}; Ctrl-C ends it.")
    seen: dict[Path, tuple[int, float]] = {}
    while True:
        for file in _whole_files(folder, seen, at_once=once):
            _bring_and_say(actor, file, programme)
        if once:
            return
        time.sleep(LOOKED_EVERY_S)


def _bring_and_say(actor: "Actor", file: Path, programme: UUID | None) -> None:
    from pupilage.core.errors import PupilageError

    try:
        recording_id = bring(actor, file, _size_of(file), _beside(file), alone=False, programme=programme)
        _read_now(actor, recording_id)
        _show(actor, recording_id, as_json=False)
    except PupilageError as error:
        click.echo(f"{file.name}: {error}", err=True)


def _whole_files(folder: Path, seen: dict[Path, tuple[int, float]], *, at_once: bool) -> Iterator[Path]:
    """Yield recordings that have not grown for a while, each once."""
    from pupilage.services.bring_recording import SOUNDS

    for file in sorted(folder.iterdir()):
        if not file.is_file() or not file.name.casefold().endswith(SOUNDS):
            continue
        size, since = file.stat().st_size, time.monotonic()
        known = seen.get(file)
        if known is None or known[0] not in (size, -1):
            seen[file] = (size, since)
            known = seen[file]
        if known[0] != -1 and size and (at_once or since - known[1] >= STILL_FOR_S):
            seen[file] = (-1, since)
            yield file


def _size_of(file: Path) -> int:
    try:
        return file.stat().st_size
    except FileNotFoundError as error:
        raise InvalidInput.of("file", "There is no file {file}; check the name.", file=str(file)) from error


def _beside(file: Path) -> Path | None:
    """Return captions of the same name: garden.vtt, or garden.en.srt, beside garden.mp4."""
    from pupilage.services.bring_recording import CAPTIONS, is_captions

    if is_captions(file.name):
        return None
    found = (one for end in CAPTIONS for one in sorted(file.parent.glob(f"*{end}")))
    return next((one for one in found if one.name.startswith(f"{file.stem}.")), None)


def bring(
    actor: "Actor",
    file: Path,
    size: int,
    captions: Path | None,
    *,
    alone: bool,
    programme: UUID | None,
    voices: tuple[str, ...] = (),
) -> UUID:
    """Bring a file in for the programme that runs, with its captions, and return the recording's id."""
    from pupilage.core.recordings.reading import Purpose
    from pupilage.services.bring_recording import (
        NewRecording,
        add_captions,
        begin_recording,
        bring_file,
        require_captions,
    )
    from pupilage.services.read_programme import read_head

    at = now()
    head = read_head(actor, find_programme_id(actor, programme, now=at), now=at)
    ended = datetime.fromtimestamp(file.stat().st_mtime, UTC)
    new = NewRecording(
        file.name,
        size,
        purpose=Purpose.ALONE if alone else Purpose.SESSION,
        began_at=min(ended - timedelta(seconds=_length_of(file)), at),
        programme_id=head.id,
        recording_id=uuid4(),
        voice_ids=tuple(find_voice(actor, name) for name in voices),
    )
    beside = [] if captions is None else [(captions.name, captions.read_bytes())]
    for one in beside:
        require_captions(*one)
    recording_id = begin_recording(actor, head.dog_id, new, now=at)
    for one in beside:
        add_captions(actor, recording_id, *one, now=at)
    with click.progressbar(length=size, label="Copying", file=sys.stderr) as bar:
        bring_file(actor, recording_id, file, told=lambda n: bar.update(n - bar.pos), now=at)
    return recording_id


def find_voice(actor: "Actor", name: str) -> UUID:
    """Return the id of the voice of that name. Raises InvalidInput that names those there are."""
    from pupilage.services.read_voices import read_voices

    known = {line.name.casefold(): line.id for line in read_voices(actor)}
    if name.casefold() not in known:
        told = "There is no voice called “{name}” (there are: {known}); teach one with pupilage recording enrol."
        raise InvalidInput.of("voice", told, name=name, known=", ".join(known) or "–")
    return known[name.casefold()]


def _length_of(file: Path) -> float:
    """Return how long a recording lasts, 0 where that is not known: a camera dates a file by its end.

    Raises InvalidInput for what cannot be read, before anything is brought in.
    """
    from pupilage.core.recordings.captions.reading import read_captions
    from pupilage.services.bring_recording import is_captions
    from pupilage.storage.sound.decoding import read_track

    if is_captions(file.name):
        read_captions(file.read_bytes())
        return 0.0
    return read_track(file).duration_s or 0.0


def _read_now(actor: "Actor", recording_id: UUID) -> None:
    from pupilage.core.recordings.reading import ENDED
    from pupilage.services.listen_to_recording import listen
    from pupilage.services.read_recordings import read_recording_line
    from pupilage.services.read_waiting import read_waiting

    with click.progressbar(length=1000, label="Reading", file=sys.stderr) as bar:
        worker = f"command-{uuid4().hex[:8]}"
        until_done(
            lambda: read_waiting(worker, listen, now, only=recording_id, told=shown_on(bar)),
            lambda: read_recording_line(actor, recording_id).state not in ENDED,
        )
        bar.update(1000 - bar.pos)


def until_done(attempt: Callable[[], UUID | None], is_moving: Callable[[], bool]) -> None:
    """Do long work here and now, or wait for a reader that took it first, and take it over where that one dies."""
    while attempt() is None and is_moving():
        time.sleep(LOOKED_EVERY_S)


def shown_on(bar: Any) -> Callable[[float], None]:
    """Return what shows a share on a bar of 1000."""
    return lambda share: bar.update(round(1000 * share) - bar.pos)


def _work(worker: str, *, wait: bool) -> None:
    """Do what waits, and what a reader that died had; end when nothing is left to do, by anybody."""
    from pupilage.services.learn_voice import learn_waiting
    from pupilage.services.listen_to_recording import listen
    from pupilage.services.long_work import is_work_left
    from pupilage.services.read_waiting import read_waiting

    idle = 0
    while True:
        learned = learn_waiting(worker, now)  # first: what waits to be read may be heard by it
        if read_waiting(worker, listen, now) is None and learned is None:
            idle += 1
            if idle >= 2 and not wait and not is_work_left():
                return
            time.sleep(LOOKED_EVERY_S)
        else:
            idle = 0


def _show(actor: "Actor", recording_id: UUID, *, as_json: bool) -> None:
    from pupilage.core.recordings.events import EventKind
    from pupilage.core.recordings.reading import ReadingState
    from pupilage.services.export_recording import FileFormat, export_recording
    from pupilage.services.read_recording import hear_recording
    from pupilage.services.read_recordings import read_recording_line

    line = read_recording_line(actor, recording_id)
    if line.state is ReadingState.FAILED and line.failure is not None:
        raise InvalidInput.of("file", line.failure.template, **line.failure.figures)
    if as_json:
        click.echo(export_recording(actor, recording_id, FileFormat.JSON).content.decode())
        return
    heard = hear_recording(actor, recording_id)
    click.echo(f"{line.file_name}: {line.n_events} suggestions, none of them checked yet ({recording_id}).")
    for remark in said_of(heard.quality):
        click.echo(f"  {remark}")
    cues = Counter(event.label for event in heard.events if event.kind is EventKind.CUE)
    if cues:
        print_table(("cue", "heard"), [(label, str(n)) for label, n in cues.most_common()])


def said_of(quality: Mapping[str, Any]) -> list[Sentence]:
    """Return what a person should know of a recording, as it was stored."""
    return [Sentence(one[0], one[1]) for name in ("reasons", "remarks") for one in quality.get(name, ())]
