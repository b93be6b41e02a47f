"""The how-to page for a trainer's own files says what the program does."""

import re
from pathlib import Path

import pytest

from pupilage.core.catalogue.behaviour import Place, Prompt
from pupilage.core.catalogue.entries import BEHAVIOUR_FIELDS, STEP_FIELDS, UNWANTED_FIELDS
from pupilage.core.catalogue.loading import SourceText, catalogue_from, load_bundled

PAGE = (Path(__file__).parents[3] / "docs/how-to/own-catalogue.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)


@pytest.mark.parametrize("example", EXAMPLES)
def test_each_example_on_the_page_is_accepted(example):
    assert catalogue_from([SourceText("example.toml", example)]) != load_bundled()


def test_examples_together_do_what_the_page_says():
    own = catalogue_from([SourceText(f"{i}.toml", text) for i, text in enumerate(EXAMPLES)])
    assert own.behaviours["recall"].cue == "Here"
    assert own.behaviours["loose-lead"].target == "street-people"
    assert own.behaviours["loose-lead"].steps == load_bundled().behaviours["loose-lead"].steps
    assert own.behaviours["chin-rest"].prerequisites == ("hand-target",)
    assert own.unwanted["stealing-laundry"].replacement_behaviour == "drop"
    assert own.distractions[0] == "Alone with me in a quiet room."


@pytest.mark.parametrize("name", [*BEHAVIOUR_FIELDS, *STEP_FIELDS, *UNWANTED_FIELDS, *Place, *Prompt])
def test_every_field_and_value_is_on_the_page(name):
    assert f"`{name}`" in PAGE
