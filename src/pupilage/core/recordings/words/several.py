"""Words heard for several people, or by several sets of words, in one recording: one sound is one event."""

from collections.abc import Iterable

from pupilage.core.recordings.events import Event, EventKind, in_time_order
from pupilage.core.recordings.words.peaks import APART_S

_NOISES = frozenset({EventKind.CLICK, EventKind.WHISTLE})


def likeliest_of_each(events: Iterable[Event]) -> list[Event]:
    """Return the events in time order; of words that start within 0.3 s of each other the most confident one.

    The rule is that of one person's words (`peaks`), and holds for clicks and whistles among themselves too; a click
    beside a word is another sound. The events of one reading only: captions are joined by `combine_events`.
    """
    taken: list[Event] = []
    for event in sorted(events, key=lambda one: (-(one.confidence or 0.0), one.start_s, one.label)):
        if not any(_is_one_sound(event, other) for other in taken):
            taken.append(event)
    return in_time_order(taken)


def _is_one_sound(event: Event, other: Event) -> bool:
    group = event.kind if event.kind in _NOISES else None
    return group == (other.kind if other.kind in _NOISES else None) and abs(event.start_s - other.start_s) < APART_S
