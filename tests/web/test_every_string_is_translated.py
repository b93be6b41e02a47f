"""Every visible string goes through gettext: a language that wraps what it is given leaves nothing outside."""

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from django.test import Client
from django.utils import translation

from pupilage.core.care.exposures.loading import load_exposures
from pupilage.core.care.food.doses import list_eaten
from pupilage.core.care.food.unsafe import list_unsafe_foods
from pupilage.services.read_catalogue import read_catalogue
from pupilage.storage.models import Workspace
from web.addresses import ALL, READS, Address

pytestmark = pytest.mark.django_db

FOR_PROGRAMS = {"recording-bytes", "recording-sound", "recording-events", "recording-amounts", "family-media-show"}
FOR_PROGRAMS |= {"manifest", "service-worker", "sample", "trial-sheet"}
OTHER_TONGUE = {"family-preview", "vet-report"}
"""In the family's language, by a catalogue of its own: tests/unit/reports/test_family_words.py."""

PAGES = [a for a in ALL if a.name in READS - FOR_PROGRAMS - OTHER_TONGUE and not a.name.startswith("sync-")]
UNITS = r"\b(kg|lb|g|m|s|kcal|UTC)\b"
OURS = ("Pupilage", "English", "Deutsch")
"""Names that stay as they are in every language."""
USERS = (
    "Tansy", "Moss", "Linden house", "Wren's yard", "wren yard", "dry food", "cooked chicken", "mixed",
    "second vaccination", "Wren", "garden.wav", "zitten", "seduta",
)  # fmt: skip
"""What the fixtures typed."""


class Seen(HTMLParser):
    """Collects what a person sees or hears: text, and the attributes that are read aloud."""

    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = []
        self.hidden: list[str] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        known = dict(attributes)
        self.texts += [known[name] for name in ("aria-label", "title", "placeholder", "alt") if known.get(name)]
        if tag in {"script", "style", "code", "kbd"} or (
            tag == "select" and known.get("name") in {"timezone", "language"}
        ):
            self.hidden.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.hidden and self.hidden[-1] == tag:
            self.hidden.pop()

    def handle_data(self, text: str) -> None:
        if not self.hidden and text.strip():
            self.texts.append(text.strip())


@pytest.fixture
def wrapping(monkeypatch: pytest.MonkeyPatch) -> None:
    """Make every translated string recognisable."""
    translation.gettext("")  # the real functions come into being on first use
    trans = translation._trans
    monkeypatch.setattr(trans, "gettext", lambda message: f"⟦{message}⟧" if message else "")
    monkeypatch.setattr(trans, "pgettext", lambda _context, message: f"⟦{message}⟧")
    monkeypatch.setattr(trans, "ngettext", lambda one, many, n: f"⟦{one if n == 1 else many}⟧")
    monkeypatch.setattr(trans, "npgettext", lambda _context, one, many, n: f"⟦{one if n == 1 else many}⟧")
    # a chart is kept by its language, and this is one of its own
    monkeypatch.setattr("pupilage.reports.charts.chart.get_language", lambda: "wrapping")


def catalogue_texts() -> Iterator[str]:
    """Return every text of the catalogue and the lists of foods, the longest first, so that none hides another."""
    catalogue = read_catalogue()
    texts = set(catalogue.distractions)
    for one in catalogue.behaviours.values():
        texts |= {one.name, one.definition, one.cue, *one.safety, *(step.summary for step in one.steps)}
        texts |= {one.outcomes.met, one.outcomes.missed, one.outcomes.helped, one.outcomes.void}
    for one in catalogue.unwanted.values():
        texts |= {one.name, one.definition, one.replacement, *one.arrange, *one.record, *one.safety}
    for one in load_exposures().items.values():
        texts |= {one.name, one.begin, one.watch, one.until_then} - {""}
    for food in list_unsafe_foods():
        texts |= {food.name, food.why}
    texts |= {text for one in list_eaten() for text in (one.name, one.hint) if text}
    yield from sorted(texts, key=len, reverse=True)


def bare(text: str) -> str:
    """Return what is left of a text once translations, catalogue, users' words and units are taken out."""
    for known in (*catalogue_texts(), *USERS, *OURS):
        text = text.replace(known, "")
    while "⟦" in text:
        shorter = re.sub(r"⟦[^⟦⟧]*⟧", "", text)
        assert shorter != text, f"unbalanced: {text}"
        text = shorter
    return re.sub(UNITS, "", text)


def outside(texts: list[str]) -> dict[str, str]:
    """Return the texts in which letters are left, with what is left."""
    left = {text: bare(text) for text in texts}
    return {text: rest for text, rest in left.items() if re.search(r"[^\W\d_]", rest)}


def test_a_string_that_is_not_translated_would_be_found() -> None:
    seen = Seen()
    seen.feed('<p aria-label="plain">⟦day ⟦{n}⟧⟧ 4 kg</p><button>Send</button><script>let a</script>')
    assert outside(seen.texts) == {"plain": "plain", "Send": "Send"}


@pytest.mark.parametrize("address", PAGES, ids=[address.name for address in PAGES])
def test_nothing_stands_outside_a_translation(
    address: Address, places: dict[str, str], keeper_client: Client, wrapping: None
) -> None:
    Workspace.objects.update(name="Wren's yard")
    answer = keeper_client.get(address.path(places), follow=True)
    seen = Seen()
    seen.feed(answer.content.decode())
    assert "⟦" in answer.content.decode()
    assert outside(seen.texts) == {}
