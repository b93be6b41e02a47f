"""The exposures page in rows: today's cards, the list by group, the veterinarian's topics."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any
from uuid import UUID, uuid4

from pupilage.core.care.exposures.item import LEAST_INTENSITY, ExposureItem, VetTopic
from pupilage.core.care.exposures.judging import ItemStanding, ItemState
from pupilage.core.care.exposures.log import Exposure, VetWord
from pupilage.core.care.exposures.proposal import ExposureProposal
from pupilage.core.care.exposures.spreading import DatedExposure
from pupilage.core.care.exposures.wording import (
    GROUP_WORDS,
    INTENSITY_WORDS,
    RESPONSE_SIGNS,
    RESPONSE_WORDS,
    TOPIC_WORDS,
    standing_words,
)
from pupilage.core.words import Sentence
from pupilage.services.read_exposures import ExposuresPage
from pupilage.web.forms.exposure import ExposureForm


@dataclass(frozen=True)
class Row:
    """An item in the list: its name, where it stands, and what it waits for."""

    item: ExposureItem
    standing: ItemStanding
    words: Sentence


@dataclass(frozen=True)
class Group:
    """A group of the list, with how many of it went well and how many are held back."""

    words: Sentence
    rows: tuple[Row, ...]

    @property
    def n_well(self) -> int:
        return sum(row.standing.state is ItemState.MET_WELL for row in self.rows)

    @property
    def n_held(self) -> int:
        return sum(row.standing.state in {ItemState.HELD_BACK, ItemState.REFERRED} for row in self.rows)


@dataclass(frozen=True)
class Card:
    """One of today's items with the form that writes it down."""

    proposal: ExposureProposal
    form: ExposureForm

    @property
    def item(self) -> ExposureItem:
        return self.proposal.item


@dataclass(frozen=True)
class Topic:
    """What the veterinarian says yes to, and their word if it is there."""

    topic: VetTopic
    words: Sentence
    said: VetWord | None
    nonce: UUID


def row_of(standing: ItemStanding) -> Row:
    """Return an item as it stands in the list."""
    return Row(standing.item, standing, standing_words(standing))


def list_groups(page: ExposuresPage) -> list[Group]:
    """Return the list, group by group."""
    by_group = groupby(page.judgement.standings, key=lambda one: one.item.group)
    return [Group(GROUP_WORDS[group], tuple(row_of(one) for one in standings)) for group, standings in by_group]


def list_cards(page: ExposuresPage) -> list[Card]:
    """Return today's items, their forms filled as proposed."""
    standings = {one.item.key: one for one in page.judgement.standings}
    return [Card(one, form_of(standings[one.item.key], one, place="today")) for one in page.today]


def form_of(standing: ItemStanding, proposed: ExposureProposal | None, *, place: str) -> ExposureForm:
    """Return an item's form: as proposed for today, else as it was last time, else as it begins.

    place: where on the page it stands, so that no two fields have the same id.
    """
    last, item = standing.last, standing.item
    if proposed is not None:
        how = (proposed.intensity, proposed.distance_m, True)
    elif last is not None:
        how = (last.intensity, last.distance_m, last.with_food is not False)
    else:
        how = (LEAST_INTENSITY, item.first_m, True)
    intensity, distance_m, with_food = how
    start = {"intensity": intensity, "distance_m": _figure(distance_m), "with_food": with_food}
    return ExposureForm(initial=start, auto_id=f"{place}-{item.key}-%s")


def list_topics(page: ExposuresPage) -> list[Topic]:
    """Return what waits for the veterinarian's word, with what they said."""
    return [Topic(topic, words, page.vet_words.get(topic), uuid4()) for topic, words in TOPIC_WORDS.items()]


def list_days(page: ExposuresPage) -> list[tuple[Any, list[DatedExposure]]]:
    """Return the dated list, day by day."""
    return [(day, list(ones)) for day, ones in groupby(page.spread.dated, key=lambda one: one.on)]


def scales() -> dict[str, object]:
    """Return the words of the two scales for the templates."""
    return {
        "responses": [(one.value, words, RESPONSE_SIGNS[one]) for one, words in RESPONSE_WORDS.items()],
        "intensities": list(INTENSITY_WORDS.items()),
    }


def met_lines(page: ExposuresPage, *, limit: int) -> Iterator[tuple[str, Exposure]]:
    """Yield the newest meetings with the item's name."""
    names = {one.item.key: one.item.name for one in page.judgement.standings}
    for one in page.recent[:limit]:
        yield names.get(one.item, one.item), one


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
