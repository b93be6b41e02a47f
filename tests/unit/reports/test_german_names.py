"""Every name of every catalogue that a printed thing may hold has its German: what is asked for in German is German."""

from dataclasses import replace

import pytest

from pupilage.core.care.exposures.loading import load_exposures
from pupilage.core.care.exposures.wording import INTENSITY_WORDS, RESPONSE_SIGNS, RESPONSE_WORDS, TOPIC_WORDS
from pupilage.core.care.vet_first import SIGNS
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.handover.signs import HAND_SIGNS
from pupilage.core.incidents.between_dogs import WHO_WORDS
from pupilage.core.incidents.teeth import WORDS as TEETH
from pupilage.reports.pack.contents import write_contents
from pupilage.reports.pack.options import Language, PackOptions
from pupilage.reports.pack.tongue import Tongue
from pupilage.reports.vet_report import words
from unit.reports.test_pack_contents import FACTS, goal, untried

CATALOGUE = load_bundled()
BEHAVIOURS, UNWANTED = CATALOGUE.behaviours.values(), CATALOGUE.unwanted.values()
PACK = Tongue(Language.DE)
RECORD = Tongue(Language.DE, also="pupilage.reports.vet_report")

IN_PACK = {
    "behaviours": [text for one in BEHAVIOURS for text in (one.name, one.definition, *one.safety)],
    "steps": [step.summary for one in BEHAVIOURS for step in one.steps],
    "cues without a word": [one.cue for one in BEHAVIOURS if one.cue.startswith("No word:")],
    "hand signs": [one.template for one in HAND_SIGNS.values()],
    "unwanted behaviours": [
        text for one in UNWANTED for text in (one.name, one.replacement, *one.arrange, *one.safety)
    ],
    "signs for the veterinarian": [one.template for one in SIGNS.values()],
}
IN_RECORD = {
    "behaviours": [one.name for one in BEHAVIOURS],
    "unwanted behaviours": [text for one in UNWANTED for text in (one.name, one.definition, *one.arrange)],
    "what is met": [one.name for one in load_exposures().items.values()],
    "signs for the veterinarian": [one.template for one in SIGNS.values()],
    **{
        f"fixed answers {n}": [one.template for one in answers.values()]
        for n, answers in enumerate(
            (
                *(words.BEFORE, words.GAIN, words.SIGN, words.SPOT, words.HAD, words.STATE, words.WATCHED, words.PART),
                *(TEETH, WHO_WORDS, INTENSITY_WORDS, RESPONSE_SIGNS, RESPONSE_WORDS, TOPIC_WORDS),
            )
        )
    },
}


@pytest.mark.parametrize("kind", IN_PACK)
def test_every_name_that_the_pack_may_print_has_its_german(kind):
    assert IN_PACK[kind]
    assert [text for text in IN_PACK[kind] if text not in PACK.words] == []


@pytest.mark.parametrize("kind", IN_RECORD)
def test_every_name_that_the_record_for_a_veterinarian_may_print_has_its_german(kind):
    assert IN_RECORD[kind]
    assert [text for text in IN_RECORD[kind] if text not in RECORD.words] == []


def test_german_pack_of_the_whole_catalogue_asks_for_no_text_that_has_no_german(monkeypatch):
    asked = set()

    def text(self, english):
        asked.add(english)
        return self.words.get(english) or english

    monkeypatch.setattr(Tongue, "text", text)
    keys = list(CATALOGUE.behaviours)
    every = tuple(goal(key) if n % 2 else untried(key) for n, key in enumerate(keys))
    facts = replace(FACTS, goals=every, signs="\n".join([*SIGNS, "Hinkt nach dem Spiel"]))
    write_contents(facts, PackOptions(Language.DE))
    cues = {one.cue for one in BEHAVIOURS}
    assert len(asked) > 500
    assert asked - set(PACK.words) - cues == set()


def test_signs_are_printed_in_words_never_as_they_are_stored():
    facts = replace(FACTS, signs="not-eating\nLicks the left paw")
    for language, words_said in (
        (Language.DE, "Frisst oder trinkt nicht wie sonst"),
        (Language.EN, "Does not eat or drink"),
    ):
        said = str(write_contents(facts, PackOptions(language)).data)
        assert words_said in said
        assert "Licks the left paw" in said
        assert "not-eating" not in said


def test_a_dog_has_paws_and_is_set_free_in_one_word():
    """Common practice of the language: „Pfoten“ of a dog, „freigeben“ and „stattdessen“ in one word."""
    wrong = ("statt dessen", "frei gebt", "Füße am Boden", "Vorderfuß", "Vorderfüße", "Tierarzt für Verhalten")
    assert [german for german in RECORD.words.values() if any(one in german for one in wrong)] == []


def test_pack_says_ihr_throughout():
    """One form of address: neither Sie nor Du, in any text."""
    formal = (" Ihnen", " Ihre ", " Ihr ", "Sie bitte", " können Sie", " du ", " dein", " dich ", " dir ")
    texts = [german for german in RECORD.words.values() if any(one in f" {german} " for one in formal)]
    assert [one for one in texts if not one.startswith(("Ihr ", "Ihre "))] == []
