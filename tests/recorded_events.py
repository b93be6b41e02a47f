"""Events for the tests of recordings: any that hypothesis can think of, and sessions drawn from a seed."""

import random

from hypothesis import strategies as st

from pupilage.core.recordings.events import Event, EventKind, EventSource, EventState

words = st.text(st.characters(exclude_categories=("Cs",)), max_size=12)
seconds = st.floats(0.0, 1e5, allow_nan=False).map(abs)


@st.composite
def any_event(draw: st.DrawFn) -> Event:
    start_s = draw(seconds)
    return Event(
        start_s,
        start_s + draw(st.floats(0.0, 100.0)),
        draw(st.sampled_from(EventKind)),
        draw(words),
        draw(st.none() | st.floats(0.0, 1.0)),
        draw(st.sampled_from(EventState)),
        draw(st.sampled_from(EventSource)),
        in_talk=draw(st.booleans()),
        exact=draw(st.booleans()),
        behaviour=draw(words),
        speaker=draw(words),
        id=draw(words),
    )


def session(chance: random.Random, n_trials: int = 14, *, n_unchecked: int = 0) -> list[Event]:
    """Cues of three kinds, three in ten repeated, eight in ten marked; some of them not looked at yet."""
    heard: list[tuple[float, EventKind, str]] = []
    at_s = 1.0
    for _ in range(n_trials):
        cue = chance.choice(["sit", "down", "come"])
        for _ in range(1 + (chance.random() < 0.3)):
            heard.append((at_s, EventKind.CUE, cue))
            at_s += chance.uniform(1.2, 3.0)
        if chance.random() < 0.8:
            heard.append((at_s, EventKind.MARKER, "yes"))
        at_s += chance.uniform(2.0, 12.0)
    unchecked = set(chance.sample(range(len(heard)), n_unchecked))
    return [
        Event(
            start_s,
            start_s + 0.3,
            kind,
            label,
            chance.uniform(0.3, 0.95),
            EventState.SUGGESTED if i in unchecked else EventState.CONFIRMED,
        )
        for i, (start_s, kind, label) in enumerate(heard)
    ]
