"""Where each item stands: met or not, met well how often, held back, or for somebody else to judge.

All of it is read from the entries that stand, in time order, so that any order and any split of the log say the same.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from enum import StrEnum

from pupilage.core.care.exposures.item import STRONG_INTENSITY, ExposureCatalogue, ExposureItem, VetTopic
from pupilage.core.care.exposures.log import (
    AT_EASE,
    FEAR,
    Exposure,
    LogEntry,
    Response,
    standing_exposures,
    vet_words,
)
from pupilage.core.care.exposures.pacing import NextMeeting, next_meeting
from pupilage.core.clock import local_day

SLOW_RECOVERY_S = 60.0
"""Longer than this and the meeting was too much, whatever the pup did (common practice, no source)."""

MINUTES_OF_FEAR_S = 180.0
"""Fear that does not pass within minutes is for a veterinary behaviourist; read as three (our reading of “minutes”)."""

WAIT_DAYS = 2
WAIT_DAYS_AFTER_FEAR = 3
MOST_WAIT_DAYS = 7
"""Days until an item that was too much is met again; doubled each time in a row (common practice, no source)."""

N_SLOW_TO_REFER = 2
N_SETBACKS_TO_REFER = 3
"""So many in a row without a meeting at ease between them (common practice, no source)."""

N_WELL_ENOUGH = 3
"""Meetings at ease at the target's intensity after which an item counts as known (common practice, no source)."""

SPREADING_ITEMS = 3
SPREADING_DAYS = 7
"""Fear of so many different things within so many days, none of it over within a minute, is taken as fear that spreads
(common practice, no source)."""


class ItemState(StrEnum):
    """Where an item stands. Stored values are fixed for good."""

    NOT_MET = "not-met"
    MET = "met"
    """Met, and not yet at ease since it was last too much."""
    MET_WELL = "met-well"
    HELD_BACK = "held-back"
    REFERRED = "referred"


@dataclass(frozen=True)
class ItemStanding:
    """Where one item stands on a day.

    n_well: meetings at ease at `well_intensity`, the highest such since it was last too much (None when none);
    n_at_target: those at the target's intensity or more.
    held_until: the first day on which it may be met again, None when today is not before it.
    waits_for_vet: the topic that the veterinarian has not said yes to, else None.
    next: how to meet it next, None while it is referred; next_is_strong: whether that counts as a new strong thing.
    """

    item: ExposureItem
    state: ItemState
    n_met: int
    n_well: int
    well_intensity: int | None
    n_at_target: int
    last: Exposure | None
    last_on: date | None
    held_until: date | None
    waits_for_vet: VetTopic | None
    next: NextMeeting | None
    next_is_strong: bool

    @property
    def known(self) -> bool:
        """Whether it has been met at ease often enough, as strong as a family's daily life has it."""
        return self.n_at_target >= N_WELL_ENOUGH

    @property
    def open(self) -> bool:
        """Whether it may be met today."""
        return self.next is not None and self.held_until is None and self.waits_for_vet is None


@dataclass(frozen=True)
class Judgement:
    """The whole list on a day: every item of the catalogue, and what today holds so far.

    afraid_of: the items feared in the last days, once there are so many that fear is taken to spread, else empty.
    n_met_today: meetings today; fear_today: whether something was feared today; strong_today: whether a new strong
    thing was met today.
    """

    today: date
    standings: tuple[ItemStanding, ...]
    afraid_of: tuple[str, ...]
    n_met_today: int
    fear_today: bool
    strong_today: bool

    def of(self, key: str) -> ItemStanding | None:
        """Return where an item stands, or None for an unknown one."""
        return next((one for one in self.standings if one.item.key == key), None)


def is_setback(met: Exposure) -> bool:
    """Return whether a meeting was too much: a response of fear, or a slow recovery."""
    return met.response in FEAR or (met.recovery_s is not None and met.recovery_s > SLOW_RECOVERY_S)


def is_at_ease(met: Exposure) -> bool:
    """Return whether the pup was curious or calm, and soon itself again."""
    return met.response in AT_EASE and not is_setback(met)


def did_not_recover(met: Exposure) -> bool:
    """Return whether recovery took longer than a minute; after great fear, not known counts as not recovered."""
    if met.recovery_s is None:
        return met.response is Response.AFRAID
    return met.recovery_s > SLOW_RECOVERY_S


def judge_exposures(log: Iterable[LogEntry], catalogue: ExposureCatalogue, *, now: datetime, zone: tzinfo) -> Judgement:
    """Return where every item of the catalogue stands.

    Parameters: log, in any order; now, aware; zone, in which days are counted.
    Raises: InvalidInput for an instant without a zone.
    """
    entries = list(log)
    today = local_day(now, zone)
    met = standing_exposures(entries)
    by_item = _by_item(met)
    said_yes = frozenset(vet_words(entries))
    return Judgement(
        today=today,
        standings=tuple(
            judge_item(item, by_item.get(item.key, []), said_yes, today=today, zone=zone)
            for item in catalogue.items.values()
        ),
        afraid_of=_spreading(met, today, zone),
        n_met_today=sum(local_day(one.at, zone) == today for one in met),
        fear_today=any(one.response in FEAR and local_day(one.at, zone) == today for one in met),
        strong_today=any(_strong_on(item, by_item.get(item.key, []), today, zone) for item in catalogue.items.values()),
    )


def judge_item(
    item: ExposureItem, met: Sequence[Exposure], said_yes: frozenset[VetTopic], *, today: date, zone: tzinfo
) -> ItemStanding:
    """Return where one item stands. met: its entries that stand, in time order."""
    since = _since_setback(met)
    well = [one for one in since if is_at_ease(one)]
    highest = max((one.intensity for one in well), default=None)
    until = held_until(met, zone)
    held = until if until is not None and until > today else None
    referred = is_for_behaviourist(met)
    following = None if referred else next_meeting(item, met, was_setback=bool(met) and is_setback(met[-1]))
    return ItemStanding(
        item=item,
        state=_state(met, well, held=held is not None, referred=referred),
        n_met=len(met),
        n_well=sum(one.intensity == highest for one in well),
        well_intensity=highest,
        n_at_target=sum(one.intensity >= item.target for one in well),
        last=met[-1] if met else None,
        last_on=local_day(met[-1].at, zone) if met else None,
        held_until=held,
        waits_for_vet=None if item.vet_topic is None or item.vet_topic in said_yes else item.vet_topic,
        next=following,
        next_is_strong=following is not None and is_new_and_strong(item, met, following.intensity),
    )


def held_until(met: Sequence[Exposure], zone: tzinfo) -> date | None:
    """Return the first day on which an item may be met again after what was too much; None when nothing was.

    A meeting at ease in the meantime does not shorten the wait.
    """
    until: date | None = None
    n_in_a_row = 0
    for one in met:
        if is_setback(one):
            n_in_a_row += 1
            days = WAIT_DAYS if one.response is Response.WORRIED and not did_not_recover(one) else WAIT_DAYS_AFTER_FEAR
            wait = min(MOST_WAIT_DAYS, days * 2 ** (n_in_a_row - 1))
            again = local_day(one.at, zone) + timedelta(days=wait)
            until = again if until is None else max(until, again)
        elif is_at_ease(one):
            n_in_a_row = 0
    return until


def is_for_behaviourist(met: Sequence[Exposure]) -> bool:
    """Return whether an item is for a veterinary behaviourist: since it was last met at ease, fear lasted for minutes,
    or it was too much again and again."""
    run: list[Exposure] = []
    for one in met:
        run = [] if is_at_ease(one) else [*run, one]
    setbacks = [one for one in run if is_setback(one)]
    lasting = any(one.response in FEAR and (one.recovery_s or 0.0) >= MINUTES_OF_FEAR_S for one in setbacks)
    slow = sum(did_not_recover(one) for one in setbacks)
    return lasting or slow >= N_SLOW_TO_REFER or len(setbacks) >= N_SETBACKS_TO_REFER


def is_new_and_strong(item: ExposureItem, earlier: Sequence[Exposure], intensity: int) -> bool:
    """Return whether a meeting counts as the day's one new strong thing, after what was met of the item before."""
    well = [one for one in earlier if is_at_ease(one)]
    if earlier and is_setback(earlier[-1]):
        return True
    if intensity >= STRONG_INTENSITY and not any(one.intensity >= STRONG_INTENSITY for one in well):
        return True
    return item.strong and not well


def _state(met: Sequence[Exposure], well: Sequence[Exposure], *, held: bool, referred: bool) -> ItemState:
    if not met:
        return ItemState.NOT_MET
    if referred:
        return ItemState.REFERRED
    if held:
        return ItemState.HELD_BACK
    return ItemState.MET_WELL if well else ItemState.MET


def _by_item(met: Sequence[Exposure]) -> Mapping[str, list[Exposure]]:
    by_item: dict[str, list[Exposure]] = {}
    for one in met:
        by_item.setdefault(one.item, []).append(one)
    return by_item


def _since_setback(met: Sequence[Exposure]) -> Sequence[Exposure]:
    last = max((i for i, one in enumerate(met) if is_setback(one)), default=-1)
    return met[last + 1 :]


def _spreading(met: Sequence[Exposure], today: date, zone: tzinfo) -> tuple[str, ...]:
    since = today - timedelta(days=SPREADING_DAYS - 1)
    feared = {
        one.item for one in met if one.response in FEAR and did_not_recover(one) and local_day(one.at, zone) >= since
    }
    return tuple(sorted(feared)) if len(feared) >= SPREADING_ITEMS else ()


def _strong_on(item: ExposureItem, met: Sequence[Exposure], day: date, zone: tzinfo) -> bool:
    return any(
        local_day(one.at, zone) == day and is_new_and_strong(item, met[:i], one.intensity) for i, one in enumerate(met)
    )
