"""Reading grade against its formulas, worked out by hand.

Sources: C. H. Björnsson, 1968, Läsbarhet (LIX); J. P. Kincaid, R. P. Fishburne, R. L. Rogers and B. S. Chissom, 1975,
Derivation of new readability formulas, Research Branch Report 8-75 (both from memory).
"""

import pytest

from pupilage.core.handover.reading_grade import count_syllables, grade

TEXT = ["The pup sleeps in the basket. It is tired because it played outside."]
"""13 words, 2 sentences, 2 long words (because, outside); syllables the pup sleeps in the bas-ket: 7, it is ti-red
be-cause it played out-side: 10."""


def test_lix_is_words_a_sentence_and_the_share_of_long_words():
    found = grade(TEXT)
    assert (found.n_words, found.n_sentences) == (13, 2)
    assert found.lix == pytest.approx(13 / 2 + 100 * 2 / 13, rel=1e-12)


def test_school_years_are_those_of_flesch_and_kincaid():
    n_syllables = 7 + 10
    assert grade(TEXT).school_years == pytest.approx(0.39 * 13 / 2 + 11.8 * n_syllables / 13 - 15.59, rel=1e-12)


@pytest.mark.parametrize(
    ("word", "n"),
    [
        ("the", 1),
        ("pup", 1),
        ("table", 2),
        ("make", 1),
        ("veterinarian", 5),
        ("tree", 1),
        ("hand-over", 3),
        ("rhythm", 1),
    ],
)
def test_syllables_of_words_counted_by_ear(word, n):
    assert count_syllables(word) == n


def test_text_without_a_word_has_no_grade():
    assert grade(["12 – 5", ""]) is None
