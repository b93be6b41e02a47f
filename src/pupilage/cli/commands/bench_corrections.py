"""What a session that was looked at teaches: the next one is heard before and after, in the worst background."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pupilage.cli.commands.bench_words import WITHIN_S, Condition, Learned, hear, words_matched
from pupilage.core.recordings.words.model import Corrections, learn

LOOKED_AT_FROM = 0.3
"""What is shown to a person at all; the rest stays hidden, so that it is neither confirmed nor rejected."""


def measure_corrected(
    folder: Path, learned: Learned, condition: Condition, *, seed: int
) -> Iterator[tuple[tuple[str, str], Any]]:
    """Yield (what, condition) and what was matched in a second session, with and without what the first one taught."""
    from pupilage.cli.made_sessions.sessions import make_session

    first, second = (make_session(learned.voice, seed=seed + number) for number in (0, 1))
    heard = hear(folder / "first.m4a", first, learned, condition, seed=seed)
    model = learn(learned.lesson, learned.pool, Corrections.of(learned.model.words, looked_at(first, heard, learned)))
    for what, known in (("not corrected", learned), ("corrected once", learned._replace(model=model))):
        events = [one.event for one in hear(folder / "second.m4a", second, known, condition, seed=seed + 1)]
        yield (f"next session, {what}", condition[0]), dict(words_matched(second, events))["words"]


def looked_at(session: Any, heard: Any, learned: Learned) -> Iterator[tuple[Any, Any]]:
    """Yield what a person who knows the truth says of each event that is shown: its stacks, and its word or None."""
    words = {word.label: word for word in learned.model.words}
    for one in heard:
        if one.stack is None or (one.event.confidence or 0.0) < LOOKED_AT_FROM:
            continue
        near = [said for said in session.said if abs(said.start_s - one.event.start_s) <= WITHIN_S]
        said = next((said for said in near if said.label == one.event.label), near[0] if near else None)
        yield one.stack, words.get(said.label) if said else None
