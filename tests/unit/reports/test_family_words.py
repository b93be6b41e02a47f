"""Every word of the family's page has its German, and nothing that nobody says is in the catalogue."""

import ast
import re
from importlib.resources import files
from pathlib import Path

import pupilage
from pupilage.reports.family.tongue import FamilyTongue, load_own_words
from pupilage.reports.pack.options import Language
from pupilage.reports.pack.tongue import load_words

GERMAN = load_own_words(Language.DE)
PACKAGE = Path(pupilage.__file__).parent
SAID_IN = ["web/views/family.py", "web/family_rows.py", "services/share_family_page.py", "services/read_family_view.py"]
REFUSED_IN = ["services/log_family_entry.py", "web/forms/family.py", "core/access.py"]
"""What a link's owner may be told: sentences of `Problem` and of the errors."""

TRAINERS = {
    "You may read here, but not change anything; ask the keeper of this workspace.",
    "A link needs a name: write for whom it is.",
    "The name has {most} letters at most.",
    "Give weeks from {least} to {most}.",
    "{most} links work already; stop one that nobody needs.",
    "There is no such link here; choose one from the list.",
    "This link does not open anything. Ask the trainer for a new one.",
}
"""Sentences of those files that only a trainer is told, or that a refusal says in both languages at once."""


def literals(file, names):
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        for argument in node.args if name in names else ():
            if isinstance(argument, ast.Constant) and isinstance(argument.value, str) and " " in argument.value + " ":
                yield name, argument.value


def said():
    for file in files("pupilage.reports.family").iterdir():
        if file.name.endswith(".py"):
            yield from (text for _, text in literals(file, {"of", "sentence"}))
    for name in SAID_IN:
        yield from (text for _, text in literals(PACKAGE / name, {"of", "sentence", "NotFound"}))
    for name in SAID_IN[2:] + REFUSED_IN:
        errors = {"Problem", "of", "NotFound", "Conflict", "Forbidden"}
        yield from (text for _, text in literals(PACKAGE / name, errors) if " " in text)


def test_every_sentence_of_the_page_has_its_german():
    own = set(said()) - TRAINERS
    assert len(own) > 70
    assert sorted(own - set(GERMAN) - set(load_words(Language.DE))) == []


def test_both_languages_name_the_same_figures():
    def figures(text):
        return sorted(re.findall(r"\{(\w+)", text))

    assert [english for english, german in GERMAN.items() if figures(english) != figures(german)] == []


def test_no_text_is_in_there_that_nobody_says_or_that_the_pack_has():
    assert sorted(set(GERMAN) - set(said())) == []
    assert sorted(set(GERMAN) & set(load_words(Language.DE))) == []


def test_page_speaks_the_words_of_the_pack_too():
    assert FamilyTongue(Language.DE).text("Food") == load_words(Language.DE)["Food"]
