"""Making a picture or a clip anew in a process of its own: a decoder that fails on a bad file takes no page with it.

The child gets the bytes by its standard input and answers with one line of JSON and then the bytes that go out.
"""

import json
import os
import subprocess
import sys

from pupilage.core.errors import InvalidInput, Problem
from pupilage.core.handover.family_parts import MediaKind
from pupilage.storage.pictures.remaking import Remade, remake_clip, remake_picture

LONGEST_S = {MediaKind.PICTURE: 30.0, MediaKind.CLIP: 180.0}
MOST_MEMORY_BYTES = 3 << 30
"""Of addresses, where the system can hold a process to it; a picture of 60 million pixels takes a third of it."""

CANNOT = "This file cannot be opened; choose another one."


def remake_apart(content: bytes, kind: MediaKind, *, with_sound: bool = False) -> Remade:
    """Return what `remake_picture` or `remake_clip` makes. Raises InvalidInput as they do, and for a dead child."""
    how = f"{kind.value}{'+sound' if with_sound else ''}"
    try:
        done = subprocess.run(  # noqa: S603  this very program, with an argument of ours
            [sys.executable, "-m", "pupilage.storage.pictures.apart", how],
            input=content,
            capture_output=True,
            timeout=LONGEST_S[kind],
            check=False,
        )
    except subprocess.TimeoutExpired:
        raise InvalidInput.of("file", "It took too long to open this file; choose a shorter or smaller one.") from None
    head, _, body = done.stdout.partition(b"\n")
    if done.returncode != 0 or not head:
        raise InvalidInput.of("file", CANNOT)
    told = json.loads(head)
    if "refused" in told:
        raise InvalidInput([Problem(where, template, **figures) for where, template, figures in told["refused"]])
    return Remade(body, told["width"], told["height"])


def _hold_back() -> None:
    """Let the pages go first, and hold the process to its memory, where the system knows of that."""
    try:
        import resource
    except ImportError:  # pragma: no cover  Windows has no such limit
        return
    os.nice(5)
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))


def main() -> None:
    """Answer as the child. How: `picture`, `clip` or `clip+sound`."""
    _hold_back()
    kind, _, sound = sys.argv[1].partition("+")
    content = sys.stdin.buffer.read()
    try:
        made = remake_clip(content, with_sound=bool(sound)) if kind == MediaKind.CLIP else remake_picture(content)
    except InvalidInput as error:
        refused = [(one.where, one.sentence.template, dict(one.sentence.figures)) for one in error.problems]
        sys.stdout.write(json.dumps({"refused": refused}) + "\n")
        return
    sys.stdout.buffer.write(json.dumps({"width": made.width, "height": made.height}).encode() + b"\n" + made.body)


if __name__ == "__main__":
    main()
