"""Every figure printed in the pack of the demo carries a number that `explain` answers with its query and its value.

The PDF is read by pypdf alone: text, size of letters, order. A number on a page either stands in a sentence that every
pack has word for word (a rule, a step of the catalogue), or in a piece of text that ends with a raised number, whose
line in the list at the end names the figure.
"""

import importlib
import io
import json
import re
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime

import pypdf
import pytest
from click.testing import CliRunner

from pupilage.cli.main import pupilage
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.simulation.generation import generate_scenario
from pupilage.core.units import WeightUnit
from pupilage.reports.pack.options import Language, PackOptions, Paper
from pupilage.reports.pack.tongue import Tongue
from pupilage.services.explain_figure import list_figures
from pupilage.services.get_keeper import get_keeper
from pupilage.services.load_demo import load_demo
from pupilage.services.make_pack import make_pack
from pupilage.services.read_programme import find_current_id
from unit.reports.test_pack_words import catalogue_texts, own_templates

EVENING = datetime(2026, 5, 12, 18, 0, tzinfo=UTC)
RAISED, FOOT = {False: 6.5, True: 9.0}, {False: 8.0, True: 10.5}
"""Points of a raised number and of the line at the foot, as the template sets them."""

PACKS = {
    "English, A4, kg": PackOptions(),
    "German, A4, kg": PackOptions(Language.DE),
    "English, Letter, large, lb": PackOptions(Language.EN, Paper.LETTER, large=True, unit=WeightUnit.LB),
}
KG_A_POUND = 0.45359237
"""International Yard and Pound Agreement, 1959."""


@dataclass
class Piece:
    """Text up to one raised number or more."""

    text: str
    marks: list[int]


@pytest.fixture
def demo(db):
    scenario = generate_scenario(seed=9, now=EVENING, catalogue=load_bundled(), timezone="Europe/Berlin")
    load_demo(scenario, seed=9, now=EVENING)
    actor = get_keeper()
    return actor, find_current_id(actor, now=EVENING)


def cells_of(page, large):
    """Return the cells of a page in their order as (text, size, whether it begins a line), without the foot."""
    found, begins, fresh = [], True, True

    def take(text, _cm, tm, _font, size):
        nonlocal begins, fresh
        size = round(size * abs(tm[3]), 2)
        if text == "\n":
            begins = True
        if not text.strip():
            fresh = True
            return
        if fresh or found[-1][1] != size:
            found.append([text, size, begins or text.startswith("\n")])
        else:
            found[-1][0] += text
        begins, fresh = text.endswith("\n"), False

    page.extract_text(visitor_text=take)
    return [(text.replace("\N{WORD JOINER}", ""), size, first) for text, size, first in found if size != FOOT[large]]


def read_pack(pdf, large, title):
    """Return the pieces of the pages, and of the list at the end the name and the value of each number."""
    pieces, listed, in_list = [Piece("", [])], {}, False
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        cells = cells_of(page, large)
        in_list = in_list or any(text.strip() == title for text, _, _ in cells[:2])
        if in_list:
            for (n, _, first), (name, _, _), (shown, _, _) in zip(cells, cells[1:], cells[2:], strict=False):
                if first and n.strip().isdecimal() and re.fullmatch(r"[a-z0-9-]+(\.[a-z0-9-]+)+", name.strip()):
                    listed[int(n)] = (name.strip(), squeezed(shown))
            continue
        for text, size, _ in cells:
            if size == RAISED[large]:
                pieces[-1].marks += [int(n) for n in text.strip().split(",")]
            else:
                if pieces[-1].marks:
                    pieces.append(Piece("", []))
                pieces[-1].text += f"\n{text}"
    return pieces, listed


BREAK = "¶"
"""Between two cells or lines: numbers on either side of it are two."""


def squeezed(text):
    return re.sub(r"\s", "", text)


def numbers(text):
    return Counter(re.findall(r"\d+", text))


def always_said(language):
    """Return what stands in every pack, the longest first: whole texts, and parts round figures, over line breaks."""
    tongue = Tongue(language)
    whole = {tongue.text(text) for text in {*own_templates(), *catalogue_texts()}}
    parts = {part for text in whole for part in re.split(r"\{\w+[^}]*\}", text)}
    found = sorted({squeezed(part) for part in parts if re.search(r"\d", part)}, key=len, reverse=True)
    return [re.compile(f"{BREAK}*".join(map(re.escape, part))) for part in found]


def left_over(piece, said):
    """Return the numbers of a piece that stand in no sentence which every pack has."""
    text = re.sub(r"\n\s*[1-4]\.\s*(?=\n|[A-Z])", "\n", piece.text)  # a list's own numbers
    text = squeezed(text.replace("\n", BREAK))
    for part in said:
        text = part.sub("|", text)
    return numbers(text)


def test_every_number_on_every_page_is_traced_to_its_query_and_value(demo):
    actor, programme = demo
    for name, options in PACKS.items():
        pdf = make_pack(actor, programme, options, now=EVENING).pdf
        title = Tongue(options.language).text("Where the figures come from")
        pieces, listed = read_pack(pdf, options.large, title)
        printed = sorted({mark for piece in pieces for mark in piece.marks})
        assert len(printed) > 120
        assert printed == sorted(listed), "the list at the end has a line for each raised number, and no other"
        assert untraced(pieces, listed, always_said(options.language)) == [], name
        told = {one.key: one for one in list_figures(actor, programme, options, now=EVENING)}
        for key, shown in listed.values():
            assert squeezed(told[key].shown) == shown
            assert agrees(told[key].value, shown, options), (name, key, told[key].value, shown)
            assert exists(told[key].source.function), told[key].source.function


def untraced(pieces, listed, said):
    """Return the pieces with numbers that are neither in a sentence of every pack nor in a figure that is marked there.

    A figure allows the numbers of its value and of its name: the row of week 3 begins with 3, beside `week3.dates`.
    """
    found = []
    for piece in pieces:
        traced = sum((numbers(listed[mark][1]) | numbers(listed[mark][0]) for mark in piece.marks), Counter())
        if loose := left_over(piece, said) - traced:
            found.append((piece.text[-120:], piece.marks, loose))
    return found


def exists(function):
    """Return whether a query names something of the program."""
    module, _, what = f"pupilage.{function}".rpartition(".")
    return hasattr(importlib.import_module(module), what)


def agrees(value, shown, options):
    """Return whether a value, worked out anew by the reader from what is printed, is the value told."""
    if isinstance(value, str):
        return value == shown or days_agree(value, shown)
    if match := re.fullmatch(r"(\d+)/(\d+)", shown):
        share = int(match[1]) / int(match[2])
        if match[2] == "10":  # a chance in tenths, never 0 or 10 of them
            return abs(min(0.95, max(0.05, value)) - share) <= 0.0501
        return abs(1 / value - share) < 1e-9  # tries for each that is paid
    unit = shown.lstrip("0123456789.,")
    figure = float(shown.removesuffix(unit).replace(",", "." if options.language is Language.DE else ""))
    if unit in ("kg", "lb"):
        return abs(figure * (KG_A_POUND if unit == "lb" else 1.0) - value) <= 0.0501
    if unit == "g":
        return abs(figure - value) <= 0.501
    if unit in ("", "m"):
        return figure == value
    spans = {"h": 3600, "min": 60, "s": 1}
    seconds = sum(float(n.replace(",", ".")) * spans[u] for n, u in re.findall(r"([\d.,]+)(h|min|s)", shown))
    return any(abs(seconds - value * one) <= max(0.5, 0.5 * one * (seconds >= 600)) for one in (1, 60))


MONTHS = {
    Language.EN: ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
    Language.DE: ["Jan", "Feb", "Mär", "Apr", "Mai", "Jun", "Jul", "Aug", "Sep", "Okt", "Nov", "Dez"],
}


def days_agree(value, shown):
    """Return whether ISO days, one or a span, are those of the print, by day and month (and year where it stands)."""
    parts = [date.fromisoformat(one) for one in value.split("/")]
    printed = re.findall(r"(\d{1,2})\.?([A-Za-zä]{3})[a-zä]*\.?(\d{4})?", re.sub(r"^[A-Za-z]{2,3}(?=\d)", "", shown))
    return [(str(one.day), one.month) for one in parts] == [
        (day, next(names.index(month) + 1 for names in MONTHS.values() if month in names)) for day, month, _ in printed
    ] and all(not year or int(year) == one.year for one, (_, _, year) in zip(parts, printed, strict=True))


def test_a_number_without_a_trace_and_a_trace_without_its_number_are_both_found():
    """The check itself: a raised number taken away, or a figure changed in print, is seen."""
    said = always_said(Language.EN)
    whole = Piece("\nA quiet room: 15 of the last 20 tries worked.", [1])
    assert left_over(whole, said) == Counter({"15": 1, "20": 1})
    assert not left_over(whole, said) - numbers("15/20")
    assert left_over(whole, said) - numbers("14/20") == Counter({"15": 1})
    assert (
        left_over(Piece("\nGo on to the next row only when 4 of 5 tries work. If not, stay where you are.", []), said)
        == {}
    )
    assert left_over(Piece("\nIn the last 14 days written down: 3.", []), said) == Counter({"3": 1})


@pytest.mark.parametrize(
    ("value", "shown", "right"),
    [
        (4500, "1h15min", True), (75, "1h15min", True), (76, "1h15min", False), (233.6, "234g", True),
        (6.71, "6.7kg", True), (6.71, "14.8lb", True), (6.71, "14.6lb", False), ("15/20", "15/20", True),
        (1.5, "2/3", True), (2.0, "2/3", False), (0.97, "9/10", True), (0.84, "9/10", False),
        ("2026-05-23/2026-06-05", "23May–5Jun", True), ("2026-05-24", "Sat23May", False),
        ("2026-05-23", "Sat23May", True), ("2026-03-02", "Mo2.Mär", True), ("2026-05-23", "23.Mai2025", False),
    ],
)  # fmt: skip
def test_print_and_value_are_compared_by_what_they_say(value, shown, right):
    assert agrees(value, shown, PACKS["English, A4, kg"]) is right


def test_command_answers_every_name_of_the_list(demo, monkeypatch):
    monkeypatch.setattr("pupilage.cli.commands.handover.now", lambda: EVENING)
    actor, programme = demo
    pdf = make_pack(actor, programme, PackOptions(), now=EVENING).pdf
    listed = read_pack(pdf, False, "Where the figures come from")[1]
    every = json.loads(CliRunner().invoke(pupilage, ["explain", "--json"], catch_exceptions=False).output)
    told = {one["name"]: one for one in every}
    for key, shown in listed.values():
        assert squeezed(told[key]["shown"]) == shown
        assert agrees(told[key]["value"], shown, PackOptions())
    one_of_each = {told[key]["query"].split("(")[0]: key for key, _ in listed.values()}
    assert len(one_of_each) > 10
    for function, key in one_of_each.items():
        alone = json.loads(CliRunner().invoke(pupilage, ["explain", key, "--json"], catch_exceptions=False).output)
        assert (alone["function"], alone["value"]) == (function, told[key]["value"])
        assert alone["printed"]["shown"] == told[key]["shown"]
    week = CliRunner().invoke(pupilage, ["explain", "week3.outing"], catch_exceptions=False).output
    assert "query: core.handover.weeks.grow_slowly(week=3, " in week
    assert "value: " in week
