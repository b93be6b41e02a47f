"""What the sections write with: the language, the figures, and the blocks that the typesetter knows."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.utils.formats import date_format

from pupilage.core.handover.facts import PackFacts
from pupilage.core.handover.weeks import Span, weeks_from
from pupilage.core.incidents.alone import span
from pupilage.core.words import UNBROKEN
from pupilage.reports.pack.figures import Argument, Figures, Source
from pupilage.reports.pack.options import Language, PackOptions
from pupilage.reports.pack.tongue import Tongue

Block = dict[str, Any]
Cell = dict[str, Any]

DATES = {Language.EN: ("D j M", "j F Y", "j M"), Language.DE: ("D j. M", "j. F Y", "j. M")}
"""How a language writes a day of the week, a whole day, a short one."""


@dataclass
class Writer:
    """One pack while it is written. Dates are written in the language that Django has active."""

    facts: PackFacts
    options: PackOptions
    tongue: Tongue
    figures: Figures = field(default_factory=Figures)

    @property
    def spans(self) -> tuple[Span, ...]:
        return weeks_from(self.facts.handover_on)

    def note(self, key: str, value: Argument, shown: str, source: Source) -> int:
        return self.figures.note(key, value, shown, source)

    def day(self, day: date) -> str:
        """Return a day such as `Sat 23 May`."""
        return self._dated(day, 0)

    def whole_day(self, day: date) -> str:
        """Return a day with its year."""
        return self._dated(day, 1)

    def days(self, first: date, last: date) -> str:
        """Return a span of days."""
        return f"{self._dated(first, 2)} – {self._dated(last, 2)}".replace(" ", UNBROKEN)

    def _dated(self, day: date, form: int) -> str:
        return date_format(day, DATES[self.options.language][form]).replace(" ", UNBROKEN)

    def span(self, seconds: float) -> str:
        return span(seconds).replace(" ", UNBROKEN)

    def week(self, i: int) -> Cell:
        """Return the dates of one of the weeks to come, the first of them 0."""
        one = self.spans[i]
        return self._dates(f"week{one.number}.dates", one.first, one.last, {"week": one.number})

    def fortnights(self) -> list[Cell]:
        """Return the eight weeks as four times two, by their dates."""
        return [
            self._dates(
                f"weeks{one.number}-{one.number + 1}.dates",
                one.first,
                one.first + timedelta(days=13),
                {"week": one.number, "n_weeks": 2},
            )
            for one in self.spans[::2]
        ]

    def _dates(self, key: str, first: date, last: date, arguments: Mapping[str, Argument]) -> Cell:
        given = {"handover_on": self.facts.handover_on.isoformat(), **arguments}
        source = Source("core.handover.weeks.weeks_from", given, self.tongue.of("Counted from the hand-over."))
        shown = self.days(first, last)
        return cell(shown, self.note(key, f"{first.isoformat()}/{last.isoformat()}", shown, source))

    def note_day(self, key: str, day: date, shown: str, source: Source) -> int:
        """Keep a date under its name and return its number."""
        return self.note(key, day.isoformat(), shown, source)


def cell(text: str, *figures: int) -> Cell:
    """Return a piece of text with the numbers of the figures in it."""
    return {"text": text, "figures": list(figures)}


def paragraph(*cells: Cell | str) -> Block:
    return {"kind": "paragraph", "cells": _cells(cells)}


def lines(items: Iterable[Cell | str]) -> Block:
    return {"kind": "lines", "cells": _cells(items)}


def numbered(items: Iterable[Cell | str]) -> Block:
    return {"kind": "numbered", "cells": _cells(items)}


def callout(*cells: Cell | str) -> Block:
    """Return what must not be passed over."""
    return {"kind": "callout", "cells": _cells(cells)}


def group(*blocks: Block) -> Block:
    """Return blocks that stay on one page: together they must be shorter than it."""
    return {"kind": "group", "blocks": list(blocks)}


def heading(text: str) -> Block:
    return {"kind": "heading", "text": text}


def facts_table(rows: Iterable[tuple[Cell | str, Cell | str]]) -> Block:
    """Return pairs of a short name and what it is."""
    return {"kind": "facts", "rows": [_cells(row) for row in rows]}


def table(head: Sequence[str], rows: Iterable[Sequence[Cell | str]]) -> Block:
    return {"kind": "table", "head": list(head), "rows": [_cells(row) for row in rows]}


def texts_of(blocks: Any) -> Iterator[str]:
    """Return every text of blocks or sections, in their order; the heads of tables too."""
    if isinstance(blocks, dict):
        for name, value in blocks.items():
            yield from [value] if name in ("text", "title") else texts_of(value)
    elif isinstance(blocks, list):
        for value in blocks:
            yield from [value] if isinstance(value, str) else texts_of(value)


def _cells(items: Iterable[Cell | str]) -> list[Cell]:
    return [cell(item) if isinstance(item, str) else item for item in items]
