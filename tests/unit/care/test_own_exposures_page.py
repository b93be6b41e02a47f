"""The how-to page for a trainer's own things to meet says what the program does."""

import re
from pathlib import Path

import pytest

from pupilage.core.care.exposures.item import ExposureGroup, VetTopic
from pupilage.core.care.exposures.loading import FIELDS, exposures_from, load_exposures
from pupilage.core.catalogue.loading import SourceText

PAGE = (Path(__file__).parents[3] / "docs/how-to/own-exposures.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


def test_examples_together_do_what_the_page_says():
    own = exposures_from([SourceText(f"{i}.toml", text) for i, text in enumerate(EXAMPLES)])
    ours = load_exposures()
    assert set(own.items) - set(ours.items) == {"sheep"}
    assert (own.items["runner"].weight, own.items["runner"].nearest_m) == (5, 6.0)
    assert own.items["runner"].begin == ours.items["runner"].begin
    assert [one.group for one in own.items.values()] == sorted(
        (one.group for one in own.items.values()), key=list(ExposureGroup).index
    )


@pytest.mark.parametrize("name", ["key", *FIELDS, *ExposureGroup, *VetTopic])
def test_every_field_and_value_is_on_the_page(name):
    assert f"`{name}`" in PAGE
