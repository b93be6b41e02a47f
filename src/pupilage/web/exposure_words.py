"""The exposures page in rows: today's cards, the list by group, the veterinarian's topics."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any
from uuid import UUID, uuid4

from pupilage.core.care.exposures.item import ExposureItem, VetTopic
from pupilage.core.care.exposures.judging import ItemStanding
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


def list_groups(page: ExposuresPage) -> list[tuple[Sentence, list[Row]]]:
    """Return the list, group by group."""
    by_group = groupby(page.judgement.standings, key=lambda one: one.item.group)
    return [(GROUP_WORDS[group], [row_of(one) for one in standings]) for group, standings in by_group]


def list_cards(page: ExposuresPage) -> list[Card]:
    """Return today's items, their forms filled as proposed."""
    return [
        Card(
            one,
            ExposureForm(
                initial={"intensity": one.intensity, "distance_m": _figure(one.distance_m), "with_food": True},
                auto_id=f"today-{one.item.key}-%s",
            ),
        )
        for one in page.today
    ]


def form_of(standing: ItemStanding, proposed: ExposureProposal | None) -> ExposureForm:
    """Return an item's form: as proposed for today, else as it was last time, else as it begins."""
    last, item = standing.last, standing.item
    if proposed is not None:
        start = {"intensity": proposed.intensity, "distance_m": _figure(proposed.distance_m), "with_food": True}
    elif last is not None:
        start = {
            "intensity": last.intensity,
            "distance_m": _figure(last.distance_m),
            "with_food": last.with_food is not False,
        }
    else:
        start = {"intensity": 1, "distance_m": _figure(item.first_m), "with_food": True}
    return ExposureForm(initial=start)


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
