"""Words heard for several people, or by several sets of words, in one recording: one sound is one event."""

from collections.abc import Iterable

from pupilage.core.recordings.events import Event, in_time_order
from pupilage.core.recordings.words.peaks import APART_S


def likeliest_of_each(events: Iterable[Event]) -> list[Event]:
    """Return the events in time order; of those that start within 0.3 s of each other the most confident one.

    The rule is that of one person's words (`peaks`). Clicks and whistles go in with the words: a click is no word. The
    events of one reading only: what captions say is joined by `combine_events`.
    """
    taken: list[Event] = []
    for event in sorted(events, key=lambda one: (-(one.confidence or 0.0), one.start_s, one.label)):
        if all(abs(event.start_s - other.start_s) >= APART_S for other in taken):
            taken.append(event)
    return in_time_order(taken)
