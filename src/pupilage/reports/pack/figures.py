"""Every figure in a pack by a short name: what it says, which service and which function gave it, and from what.

A name goes with its meaning (`recall.garden`, `week3.outing`), so that it is the same in next week's pack; the number
printed beside the figure is only its place in this pack's list.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from pupilage.core.errors import NotFound

Argument = str | int | float

MOST_NEAR = 12


@dataclass(frozen=True)
class Source:
    """Where a figure comes from: the function of `core` or `storage` that gave it, what it was given, and in words."""

    function: str
    arguments: Mapping[str, Argument]
    words: str


@dataclass(frozen=True)
class Figure:
    """A figure of a pack. number: beside it in print; value: as it was worked out; shown: as it stands in the pack."""

    key: str
    number: int
    value: Argument
    shown: str
    source: Source

    @property
    def query(self) -> str:
        """The call that gives the value again."""
        given = ", ".join(f"{name}={value!r}" for name, value in self.source.arguments.items())
        return f"{self.source.function}({given})"


@dataclass
class Figures:
    """The figures of one pack, in the order in which they are first printed."""

    found: dict[str, Figure] = field(default_factory=dict)

    def note(self, key: str, value: Argument, shown: str, source: Source) -> int:
        """Keep a figure and return its number; the same key is one figure, however often it is printed."""
        if key not in self.found:
            self.found[key] = Figure(key, len(self.found) + 1, value, shown, source)
        return self.found[key].number

    def of(self, key: str) -> Figure:
        """Return a figure by its name, or by the number that is printed beside it. Raises NotFound."""
        for figure in self.found.values():
            if key in (figure.key, str(figure.number)):
                return figure
        near = ", ".join(self._near(key))
        raise NotFound("There is no figure “{key}” here; near it are: {near}.", key=key, near=near)

    def _near(self, key: str) -> list[str]:
        """Return the names that begin as this one does, for as many of its words as any name has."""
        words = key.split(".")
        for n in range(len(words), 0, -1):
            found = [one for one in self.found if one.split(".")[:n] == words[:n]]
            if found:
                return found[:MOST_NEAR]
        return list(self.found)[:MOST_NEAR]
