"""`pupilage recording enrol`: a person's words taught from a recording, by the times at which they are said."""

import json
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4, uuid5

import click

from pupilage.cli.clock import now
from pupilage.cli.printing import json_option, print_table
from pupilage.cli.project import Choice, act
from pupilage.core.errors import InvalidInput, Problem

if TYPE_CHECKING:
    from pupilage.core.access import Actor

_TIME = re.compile(r"(?:(\d+):)?(?:(\d+):)?(\d+(?:\.\d+)?)")
SOUNDS_SAY = {"click": "click", "whistle": "whistle"}


@dataclass(frozen=True)
class Taught:
    """One line of what is taught: a word, its role, the behaviour that it asks for, and where it is said."""

    text: str
    role: str
    behaviour: str
    at_s: float


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--voice", "name", required=True, help="Who says them; made where it is new.", metavar="NAME")
@click.option(
    "--sample", "samples", multiple=True, metavar="WORD@TIME",
    help="An example: sit@0:12.4, yes:marker@0:14, down:cue:down@1:02. Without a role it is a cue, but “click” "
    "and “whistle” are what they say. The time is in the word or up to a second after it.",
)  # fmt: skip
@click.option("--words", type=click.Path(path_type=Path), help="A file with one such example a line.", metavar="FILE")
@click.option("--talk", multiple=True, help="A stretch of plain talk, as 0:30-0:50.", metavar="FROM-TO")
@click.option("--background", multiple=True, help="A stretch of the usual background.", metavar="FROM-TO")
@click.option("--keep-sound", is_flag=True, help="Keep the sound of the examples, not only numbers.")
@click.option("--programme", type=click.UUID, help="The programme.  [default: the one that runs]", metavar="ID")
@json_option
@click.pass_obj
def enrol(
    choice: Choice,
    file: Path,
    name: str,
    samples: tuple[str, ...],
    words: Path | None,
    talk: tuple[str, ...],
    background: tuple[str, ...],
    keep_sound: bool,
    programme: UUID | None,
    as_json: bool,
) -> None:
    """Teach a person's words from a recording: three examples of each word, by the times at which they are said.

    The recording is brought in where it is new. Words of any language will do; the behaviour after a second colon is a
    key of the catalogue.
    """
    wanted = _taught([*samples, *_lines(words)])
    stretches = [("talk", _stretch(one)) for one in talk] + [("background", _stretch(one)) for one in background]
    if not wanted and not stretches:
        raise InvalidInput.of("sample", "Nothing to teach: give --sample sit@0:12.4, or --words with such lines.")
    if not file.is_file():
        raise InvalidInput.of("file", "There is no file {file}; check the name.", file=str(file))
    actor = act(choice)
    _require_some(file, name, wanted, stretches)
    recording_id = _bring(actor, file, programme)
    voice_id = _voice(actor, name, keep_sound=keep_sound)
    cut = _cut(actor, voice_id, recording_id, wanted, stretches)
    _learn(actor, voice_id)
    _show(actor, voice_id, cut, as_json=as_json)


def _taught(lines: list[str]) -> list[Taught]:
    """Return what the lines say; all that is wrong with them at once."""
    from pupilage.core.recordings.reading import STRETCHES, TAUGHT

    found, problems = [], []
    for line in lines:
        what, _, when = line.rpartition("@")
        text, *rest = (part.strip() for part in what.split(":"))
        role = rest[0] if rest and rest[0] else SOUNDS_SAY.get(text.casefold(), "cue")
        at_s = _seconds(when)
        if not text or at_s is None:
            problems.append(Problem("sample", "“{line}” is no example; write sit@0:12.4.", line=line))
        elif role not in {one.value for one in TAUGHT if one not in STRETCHES}:
            problems.append(Problem("sample", "“{role}” in “{line}” is no role of a word.", role=role, line=line))
        else:
            found.append(Taught(text, role, rest[1] if len(rest) > 1 else "", at_s))
    if problems:
        raise InvalidInput(problems)
    return found


def _lines(file: Path | None) -> list[str]:
    """Return the lines of a file of examples, without the empty ones and those that begin with #."""
    if file is None:
        return []
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise InvalidInput.of("words", "{file} cannot be read; give a text file in UTF-8.", file=str(file)) from error
    lines = (line.strip() for line in text.splitlines())
    return [line for line in lines if line and not line.startswith("#")]


def _seconds(text: str) -> float | None:
    found = _TIME.fullmatch(text.strip())
    if found is None:
        return None
    parts = [float(part) for part in found.groups() if part is not None]
    return sum(part * 60.0**place for place, part in enumerate(reversed(parts)))


def _stretch(text: str) -> tuple[float, float]:
    first, _, last = text.partition("-")
    from_s, to_s = _seconds(first), _seconds(last)
    if from_s is None or to_s is None or from_s >= to_s:
        raise InvalidInput.of("times", "“{given}” is no stretch; write 0:30-0:50.", given=text)
    return from_s, to_s


def _require_some(
    file: Path, name: str, wanted: list[Taught], stretches: list[tuple[str, tuple[float, float]]]
) -> None:
    """Refuse, before anything is brought in, what holds no sound, and lines of which not one can be taught."""
    from pupilage.core.recordings.reading import WordRole
    from pupilage.services.add_sample import try_sample, try_stretch
    from pupilage.services.bring_recording import is_captions
    from pupilage.services.keep_voice import voice_name
    from pupilage.services.keep_word import WordEntry
    from pupilage.storage.sound.decoding import read_track

    if is_captions(file.name):
        raise InvalidInput.of("file", "Captions hold no sound; teach from a video or a sound.")
    voice_name(name)
    read_track(file)
    lines = [
        *(
            partial(try_sample, file, WordEntry(one.text, WordRole(one.role), one.behaviour), one.at_s)
            for one in wanted
        ),
        *(partial(try_stretch, file, times_s) for _, times_s in stretches),
    ]
    problems: list[Problem] = []
    for line in lines:
        try:
            line()
        except InvalidInput as error:
            problems.extend(error.problems)
        else:
            return
    raise InvalidInput(problems)


def _bring(actor: "Actor", file: Path, programme: UUID | None) -> UUID:
    """Bring the recording in, or find it among those that were."""
    from pupilage.cli.commands.recording_reading import bring
    from pupilage.services.read_recordings import find_same_sound

    return find_same_sound(actor, file) or bring(
        actor, file, file.stat().st_size, None, alone=False, programme=programme
    )


def _voice(actor: "Actor", name: str, *, keep_sound: bool) -> UUID:
    from pupilage.services.keep_voice import VoiceEntry, keep_voice
    from pupilage.services.read_voices import read_voices

    known = {line.name.casefold(): line for line in read_voices(actor)}
    line = known.get(" ".join(name.split()).casefold())
    if line is not None and (not keep_sound or line.keep_sound):
        return line.id
    entry = VoiceEntry(line.name if line else name, keep_sound, line.retired if line else False)
    return keep_voice(actor, entry, now=now(), voice_id=line.id if line else None)


def _cut(
    actor: "Actor",
    voice_id: UUID,
    recording_id: UUID,
    wanted: list[Taught],
    stretches: list[tuple[str, tuple[float, float]]],
) -> list[dict[str, Any]]:
    """Cut the examples, and tell all that is wrong at once; the same line given again finds its own example."""
    from pupilage.core.recordings.reading import WordRole
    from pupilage.services.add_sample import AddedSample, add_stretch, tap_sample
    from pupilage.services.keep_word import WordEntry, keep_word

    cut: list[dict[str, Any]] = []
    problems: list[Problem] = []

    def keep(text: str, role: str, found: Callable[[], AddedSample]) -> None:
        try:
            one = found()
            cut.append({"word": text, "role": role, "start_s": one.start_s, "end_s": one.end_s})
        except InvalidInput as error:
            problems.extend(error.problems)
        bar.update(1)

    def sample(one: Taught) -> AddedSample:
        word_id = keep_word(actor, voice_id, WordEntry(one.text, WordRole(one.role), one.behaviour), now=now())
        same = uuid5(word_id, f"{recording_id} {one.at_s}")
        return tap_sample(actor, word_id, recording_id, one.at_s, now=now(), sample_id=same)

    def stretch(role: str, times_s: tuple[float, float]) -> AddedSample:
        same = uuid5(voice_id, f"{recording_id} {role} {times_s}")
        return add_stretch(actor, voice_id, recording_id, WordRole(role), times_s, now=now(), sample_id=same)

    with click.progressbar(length=len(wanted) + len(stretches), label="Cutting", file=sys.stderr) as bar:
        for one in wanted:
            keep(one.text, one.role, partial(sample, one))
        for role, times_s in stretches:
            keep(role, role, partial(stretch, role, times_s))
    if problems:
        raise InvalidInput(problems)
    return cut


def _learn(actor: "Actor", voice_id: UUID) -> None:
    from pupilage.cli.commands.recording_reading import shown_on, until_done
    from pupilage.services.learn_voice import ask_to_learn, learn_waiting
    from pupilage.services.read_voices import read_voice_line

    ask_to_learn(actor, voice_id, now=now())
    with click.progressbar(length=1000, label="Learning", file=sys.stderr) as bar:
        worker = f"command-{uuid4().hex[:8]}"
        until_done(
            lambda: learn_waiting(worker, now, only=voice_id, told=shown_on(bar)),
            lambda: read_voice_line(actor, voice_id).is_learning,
        )
        bar.update(1000 - bar.pos)


def _show(actor: "Actor", voice_id: UUID, cut: list[dict[str, Any]], *, as_json: bool) -> None:
    from pupilage.services.read_voices import read_voice

    page = read_voice(actor, voice_id)
    if page.line.failure is not None:
        raise InvalidInput.of("voice", page.line.failure.template, **page.line.failure.figures)
    remarks = [str(one) for one in (*page.remarks, *(one.says for one in page.alike))]
    if as_json:
        rounded = [{**one, "start_s": round(one["start_s"], 3), "end_s": round(one["end_s"], 3)} for one in cut]
        click.echo(json.dumps({"voice": page.line.name, "id": str(voice_id), "cut": rounded, "remarks": remarks}))
        return
    click.echo(f"{page.line.name}: {page.line.n_words} words, {page.line.n_samples} examples, learned.")
    print_table(
        ("word", "for", "cut from", "to"),
        [(one["word"], one["role"], f"{one['start_s']:.2f} s", f"{one['end_s']:.2f} s") for one in cut],
    )
    for remark in remarks:
        click.echo(f"  {remark}")
