"""What lasts around the pup, from the taps that begin and end it: each minute once, whatever was tapped twice or never.

The rule, in words: taps of one kind within twelve hours belong together. What a person said counts; what nobody ended
counts for three hours after the last word. An end that nothing began, or that was there already, counts for nothing.
No tap is ever lost: all stay in the log, and each odd one is told with what to do about it.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta, tzinfo

from pupilage.core.care.events import CareDetail, CareEvent, CareKind
from pupilage.core.clock import require_aware
from pupilage.core.incidents.stretches import Stretch
from pupilage.core.words import Sentence, sentence

LASTING_KINDS = (CareKind.UNWATCHED, CareKind.IN_REACH, CareKind.VISITOR, CareKind.RESIDENT, CareKind.BUSY)

ASK_AFTER = timedelta(hours=2)
"""From here on the app asks whether it is still so (an assumption: most visits and meetings are shorter)."""

COUNTS_FOR = timedelta(hours=3)
"""How long the last word about something holds while nobody says any more (an assumption, stated to the person)."""

TOGETHER_WITHIN = timedelta(hours=12)
"""Taps further apart are of two days: an end tapped in the morning does not end what began the noon before."""


@dataclass(frozen=True)
class Running:
    """Something that has begun and not ended. since: the first tap; said_at: the last word about it."""

    kind: CareKind
    since: datetime
    said_at: datetime

    def is_asked(self, now: datetime) -> bool:
        """Return whether it is time to ask: still so?"""
        return now - self.said_at >= ASK_AFTER

    def is_capped(self, now: datetime) -> bool:
        """Return whether its time has stopped counting until somebody says more."""
        return now - self.said_at >= COUNTS_FOR

    @property
    def counts_until(self) -> datetime:
        return self.said_at + COUNTS_FOR


@dataclass(frozen=True)
class OddTap:
    """A tap that the rule had to judge, and what it made of it."""

    kind: CareKind
    at: datetime
    says: Sentence


@dataclass(frozen=True)
class Lasting:
    """The stretches of each kind, none overlapping another of its kind; and the taps that were odd."""

    stretches: Mapping[CareKind, tuple[Stretch, ...]]
    odd: tuple[OddTap, ...]
    open: tuple[Running, ...] = field(default=())

    def running(self, now: datetime) -> tuple[Running, ...]:
        """Return what runs at this moment, so far as the taps know."""
        return tuple(one for one in self.open if one.since <= now < one.said_at + TOGETHER_WITHIN)


def read_lasting(events: Sequence[CareEvent], zone: tzinfo) -> Lasting:
    """Return what the taps of the log say, by the rule above. Parameters: events that stand, in time order."""
    stretches: dict[CareKind, tuple[Stretch, ...]] = {}
    odd: list[OddTap] = []
    still: list[Running] = []
    for kind in LASTING_KINDS:
        reading = _Reading(kind, zone)
        for event in events:
            if event.kind is kind:
                reading.take(event)
        reading.close()
        stretches[kind] = tuple(reading.stretches)
        odd += reading.odd
        still += reading.open
    return Lasting(stretches, tuple(sorted(odd, key=lambda one: one.at)), tuple(still))


class _Reading:
    """One kind, read tap by tap."""

    def __init__(self, kind: CareKind, zone: tzinfo) -> None:
        self.kind, self.zone = kind, zone
        self.stretches: list[Stretch] = []
        self.odd: list[OddTap] = []
        self.open: list[Running] = []
        self._run: Running | None = None

    def take(self, event: CareEvent) -> None:
        at = require_aware(event.at)
        if self._run is not None and at - self._run.said_at >= TOGETHER_WITHIN:
            self._cap(self._run)
        if event.detail is CareDetail.START:
            self._begin(at)
        else:
            self._end(at)

    def close(self) -> None:
        """Count what is still open for as long as its last word holds."""
        if self._run is not None:
            self.open.append(self._run)
            self.stretches.append(Stretch(self._run.since, self._run.counts_until))

    def _begin(self, at: datetime) -> None:
        if self._run is None:
            self._run = Running(self.kind, at, at)
            return
        if at - self._run.said_at < ASK_AFTER:  # later it is the answer to “still so?”
            self._tell(
                at,
                sentence(
                    "Begun at {first} and again at {second}: counted once, from {first}.",
                    first=self._clock(self._run.since),
                    second=self._clock(at),
                ),
            )
        self._run = Running(self.kind, self._run.since, at)

    def _end(self, at: datetime) -> None:
        if self._run is not None:
            self.stretches.append(Stretch(self._run.since, at))
            self._run = None
        elif self.stretches and at - self.stretches[-1].end < TOGETHER_WITHIN:
            self._tell(
                at,
                sentence(
                    "Ended at {first} and again at {second}: the first end counts. "
                    "If it had begun again, write down when.",
                    first=self._clock(self.stretches[-1].end),
                    second=self._clock(at),
                ),
            )
        else:
            self._tell(
                at,
                sentence(
                    "It ends at {end}, and no tap says when it began: no time is counted. Write down when it began.",
                    end=self._clock(at),
                ),
            )

    def _cap(self, run: Running) -> None:
        self.stretches.append(Stretch(run.since, run.counts_until))
        self._run = None
        self._tell(
            run.since,
            sentence(
                "Begun at {start} and never ended: counted until {end}. Write down its end if you know it.",
                start=self._clock(run.since),
                end=self._clock(run.counts_until),
            ),
        )

    def _tell(self, at: datetime, says: Sentence) -> None:
        self.odd.append(OddTap(self.kind, at, says))

    def _clock(self, at: datetime) -> str:
        return f"{at.astimezone(self.zone):%H:%M}"
