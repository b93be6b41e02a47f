"""Spreading what is still to be met over the days that are left: a dated list."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from pupilage.core.care.exposures.item import ExposureGroup
from pupilage.core.care.exposures.judging import N_WELL_ENOUGH, ItemStanding
from pupilage.core.errors import InvalidInput
from pupilage.core.words import Sentence, sentence


@dataclass(frozen=True)
class DatedExposure:
    """An item to meet on a day. number: 1 for the next meeting, which is as told; later ones go by how that went."""

    on: date
    standing: ItemStanding
    number: int


@dataclass(frozen=True)
class NotPlaced:
    """An item that has no day, and why."""

    standing: ItemStanding
    reason: Sentence


@dataclass(frozen=True)
class Spread:
    """The dated list in day order, and what could not be placed."""

    dated: tuple[DatedExposure, ...]
    not_placed: tuple[NotPlaced, ...]


def spread_exposures(items: Sequence[ItemStanding], days: Sequence[date], per_day: int) -> Spread:
    """Return what to meet on which day, as far as the days go.

    Each item that is not known yet is met once before any is met again, the weightiest first; then again, until it
    would be known if all goes well. An item is met once a day at most, not before the day until which it is held back,
    and not more than one new strong thing stands on a day. Groups take turns within a day.
    Parameters: days, those on which there is time (without days at the veterinarian's), in any order; per_day, the
    most items of a day. Raises: InvalidInput for a negative number.
    """
    if per_day < 0:
        raise InvalidInput.of("per_day", "{given} cannot be a number of items a day; give 0 or more.", given=per_day)
    wanted = [one for one in items if not one.known]
    able = [one for one in wanted if one.next is not None and one.waits_for_vet is None]
    n_placed: Counter[str] = Counter()
    dated = [one for day in sorted(set(days)) for one in _fill_day(day, able, n_placed, per_day)]
    missed = [one for one in wanted if not n_placed[one.item.key]]
    return Spread(tuple(dated), tuple(NotPlaced(one, _reason(one, days)) for one in missed))


def _fill_day(
    day: date, items: Sequence[ItemStanding], n_placed: Counter[str], per_day: int
) -> Iterator[DatedExposure]:
    """Yield the meetings of one day, counting them."""
    today: set[str] = set()
    groups: Counter[ExposureGroup] = Counter()
    strong = False
    for _ in range(per_day):
        open_ones = [one for one in items if one.item.key not in today and _may(one, day, n_placed, strong=strong)]
        if not open_ones:
            return
        best = max(open_ones, key=lambda one: _rank(one, n_placed, groups))
        strong = strong or _is_strong(best, n_placed)
        n_placed[best.item.key] += 1
        groups[best.item.group] += 1
        today.add(best.item.key)
        yield DatedExposure(day, best, n_placed[best.item.key])


def _may(one: ItemStanding, day: date, n_placed: Counter[str], *, strong: bool) -> bool:
    if one.held_until is not None and day < one.held_until:
        return False
    if one.last_on == day or (strong and _is_strong(one, n_placed)):
        return False
    return n_placed[one.item.key] < max(1, N_WELL_ENOUGH - one.n_at_target)


def _is_strong(one: ItemStanding, n_placed: Counter[str]) -> bool:
    return one.next_is_strong and n_placed[one.item.key] == 0


def _rank(one: ItemStanding, n_placed: Counter[str], groups: Counter[ExposureGroup]) -> tuple[int, float]:
    """Return how early an item comes: those with fewest meetings placed, then by weight, groups taking turns."""
    return -n_placed[one.item.key], one.item.weight / (1 + groups[one.item.group]) ** 2


def _reason(one: ItemStanding, days: Sequence[date]) -> Sentence:
    if one.next is None:
        return sentence("For a veterinary behaviourist first.")
    if one.waits_for_vet is not None:
        return sentence("Waits for the veterinarian's word.")
    if one.held_until is not None and not any(day >= one.held_until for day in days):
        return sentence("Held back until these days are over.")
    if one.next_is_strong:
        return sentence("No day is left for it: not more than one new strong thing a day.")
    return sentence("No day is left for it.")
