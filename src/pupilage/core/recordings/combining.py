"""What the sound and the captions of one recording both give is one event; alone, each stands as it is."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from pupilage.core.recordings.events import Event, EventSource, EventState, in_time_order
from pupilage.core.recordings.folding import folded


@dataclass(frozen=True)
class CombineRules:
    """How far apart two starts of one event may lie: with both exact, and where a caption's start was spread.

    Common practice, no source.
    """

    exact_within_s: float = 1.0
    spread_within_s: float = 2.0


def combine_events(
    heard: Iterable[Event], read: Iterable[Event], rules: CombineRules | None = None
) -> tuple[Event, ...]:
    """Return the events of two readings of one recording, those in both once, in time order.

    Two are one when kind and word are the same and their starts close enough; the nearest pairs first, each event in
    one pair at most. The one stands with the better known start (by hand, then exact, then the first reading's), the
    state a person gave it (confirmed over rejected), the confidence that was measured, and what else either names.
    """
    rules = rules or CombineRules()
    one, other = in_time_order(heard), in_time_order(read)
    near = sorted(
        (abs(a.start_s - b.start_s), i, j)
        for i, a in enumerate(one)
        for j, b in enumerate(other)
        if abs(a.start_s - b.start_s) <= _within_s(a, b, rules) and _says(a) == _says(b)
    )
    pair_of: dict[int, int] = {}
    for _, i, j in near:
        if i not in pair_of and j not in pair_of.values():
            pair_of[i] = j
    both = [_one_of(one[i], other[j]) for i, j in pair_of.items()]
    alone = [event for i, event in enumerate(one) if i not in pair_of]
    alone += [event for j, event in enumerate(other) if j not in pair_of.values()]
    return tuple(in_time_order([*both, *alone]))


def _within_s(a: Event, b: Event, rules: CombineRules) -> float:
    return rules.exact_within_s if a.exact and b.exact else rules.spread_within_s


def _says(event: Event) -> tuple[str, tuple[str, ...]]:
    return event.kind.value, folded(event.label)


def _one_of(first: Event, second: Event) -> Event:
    """Return the two as one: `first` is the one whose start is kept."""
    if _how_known(second) > _how_known(first):
        first, second = second, first
    states = {first.state, second.state} - {EventState.SUGGESTED}
    state = EventState.CONFIRMED if EventState.CONFIRMED in states else next(iter(states), EventState.SUGGESTED)
    return replace(
        first,
        state=state,
        confidence=first.confidence if first.confidence is not None else second.confidence,
        in_talk=first.in_talk or second.in_talk,
        behaviour=first.behaviour or second.behaviour,
        speaker=first.speaker or second.speaker,
        id=first.id or second.id,
    )


def _how_known(event: Event) -> tuple[bool, bool]:
    return event.source is EventSource.HAND, event.exact
