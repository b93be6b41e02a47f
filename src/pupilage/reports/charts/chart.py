"""A chart, and the sentence without which none is shown."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from typing import Any

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
