"""Every sentence of the pack has its German; figures keep their names; cues stay as the pup knows them."""

import ast
import re
from importlib.resources import files

from pupilage.core.care.vet_first import SIGNS
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.handover.signs import HAND_SIGNS
from pupilage.core.words import sentence
from pupilage.reports.pack.options import Language, usual_language
from pupilage.reports.pack.tongue import Tongue, load_words

GERMAN = load_words(Language.DE)


def own_templates():
    for file in (files("pupilage.reports.pack")).iterdir():
        if file.name.endswith(".py"):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                    name = getattr(node.func, "attr", getattr(node.func, "id", ""))
                    if name in ("of", "sentence") and isinstance(node.args[0].value, str):
                        yield node.args[0].value


def catalogue_texts():
    catalogue = load_bundled()
    for behaviour in catalogue.behaviours.values():
        yield from (behaviour.name, behaviour.definition, *behaviour.safety)
        yield from (step.summary for step in behaviour.steps)
    for unwanted in catalogue.unwanted.values():
        yield from (unwanted.name, unwanted.replacement, *unwanted.arrange, *unwanted.safety)


def test_every_sentence_of_the_pack_has_its_german():
    own = set(own_templates()) | {sign.template for sign in HAND_SIGNS.values()}
    assert len(own) > 150
    assert sorted(own - set(GERMAN)) == []


def test_only_cues_without_a_word_are_translated():
    cues = {behaviour.cue for behaviour in load_bundled().behaviours.values()}
    translated = {cue for cue in cues if cue in GERMAN}
    assert {cue for cue in cues if cue.startswith("No word:")} | {"The pup’s name, said once"} == translated


def test_both_languages_name_the_same_figures():
    def figures(text):
        return sorted(re.findall(r"\{(\w+)", text))

    assert [english for english, german in GERMAN.items() if figures(english) != figures(german)] == []


def test_no_text_is_in_there_that_nobody_says():
    core = {"Every meal is given", "A pup that does not eat", "It has panicked alone", "A very small pup can"}
    cues = {behaviour.cue for behaviour in load_bundled().behaviours.values()}
    borrowed = {one.template for words in (HAND_SIGNS, SIGNS) for one in words.values()}
    known = set(own_templates()) | set(catalogue_texts()) | cues | borrowed
    left = [text for text in GERMAN if text not in known and not text.startswith(tuple(core))]
    assert left == []


def test_text_that_nobody_has_translated_stays_as_it_was_written():
    assert Tongue(Language.DE).text("Rolls over for Aunt Ida") == "Rolls over for Aunt Ida"
    assert Tongue(Language.DE).said(sentence("{n} meals of about {g}.", n=3, g="70 g")) == "3 Mahlzeiten zu etwa 70 g."


def test_workspace_in_a_language_without_a_pack_gets_the_english_one():
    assert [usual_language(code) for code in ("de-at", "DE", "en-gb", "pt-pt", "")] == ["de", "de", "en", "en", "en"]
