"""Every sentence of the report to a veterinarian has its German, and none claims to know why."""

import ast
import re
from importlib.resources import files

from pupilage.core.care.exposures.wording import INTENSITY_WORDS, RESPONSE_SIGNS, RESPONSE_WORDS, TOPIC_WORDS
from pupilage.core.incidents.between_dogs import WHO_WORDS
from pupilage.core.incidents.teeth import WORDS
from pupilage.reports.pack.options import Language
from pupilage.reports.pack.tongue import Tongue, load_words

ALSO = "pupilage.reports.vet_report"
GERMAN = Tongue(Language.DE, also=ALSO).words
BORROWED = (INTENSITY_WORDS, RESPONSE_SIGNS, RESPONSE_WORDS, TOPIC_WORDS, WHO_WORDS, WORDS)


def calls():
    for file in files(ALSO).iterdir():
        if file.name.endswith(".py"):
            nodes = ast.walk(ast.parse(file.read_text(encoding="utf-8")))
            yield from (node for node in nodes if isinstance(node, ast.Call) and node.args)


def templates():
    for call in calls():
        name = getattr(call.func, "attr", getattr(call.func, "id", ""))
        if name in ("of", "sentence") and isinstance(call.args[0], ast.Constant):
            yield call.args[0].value
    for words in BORROWED:
        yield from (one.template for one in words.values())


def test_every_sentence_of_the_report_has_its_german():
    own = set(templates())
    assert len(own) > 120
    assert sorted(own - set(GERMAN)) == []


def test_both_languages_name_the_same_figures():
    def figures(text):
        return sorted(re.findall(r"\{(\w+)", text))

    own = load_words(Language.DE, ALSO)
    assert [english for english, german in own.items() if figures(english) != figures(german)] == []


def test_no_sentence_claims_a_cause_or_names_a_condition():
    banned = re.compile(r"\b(because|caused|due to|disorder|anxiety|aggress\w+|dominan\w+|stubborn|naughty)\b", re.I)
    assert [text for text in templates() if banned.search(text)] == []
