"""A chart, and the sentence without which none is shown."""

import json
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache, wraps
from hashlib import sha256
from typing import Any, ParamSpec, TypeVar

from django.utils.translation import get_language

from pupilage.core.words import Sentence


@dataclass(frozen=True)
class Chart:
    """A chart to be drawn.

    spec: a Vega-Lite specification, from `style.finish`; says: in one sentence what it shows and how sure that is, at
    once the caption and the text for those who do not see the drawing.
    """

    spec: Mapping[str, Any]
    says: Sentence

    @cached_property
    def text(self) -> str:
        """The specification as JSON: equal for equal charts."""
        return json.dumps(self.spec, sort_keys=True, separators=(",", ":"))

    @cached_property
    def key(self) -> str:
        """A short name that no other chart has, usable as an element's id."""
        return f"chart-{sha256(self.text.encode()).hexdigest()[:12]}"


KEPT = 128
"""Charts of each kind kept in the process: a specification is a few kilobytes."""

Given = ParamSpec("Given")
Drawn = TypeVar("Drawn")


def kept(draw: Callable[Given, Drawn]) -> Callable[Given, Drawn]:
    """Return the drawing function with a memory: the same chart in the same language is not put together again.

    Everything that it is given must be hashable; a chart is a value, and is never changed.
    """

    @lru_cache(maxsize=KEPT)
    def drawn(language: str | None, *given: Hashable) -> Any:
        return draw(*given)  # type: ignore[call-arg,arg-type]  # the wrapper below has the signature

    @wraps(draw)
    def remembered(*given: Given.args, **named: Given.kwargs) -> Drawn:
        found: Drawn = drawn(get_language(), *given, *named.values())
        return found

    return remembered
