"""How hard a text is to read, by two published formulas that need no word list."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

WORD = re.compile(r"[^\W\d_]+(?:[’'-][^\W\d_]+)*")
LONG_WORD = 7
"""Letters from which LIX calls a word long."""

VOWELS = re.compile(r"[aeiouy]+")


@dataclass(frozen=True)
class ReadingGrade:
    """How hard a text is. lix: below 25 very easy, 30 to 40 newspapers, above 50 official texts; n_words, n_sentences.

    school_years: Flesch–Kincaid, of English alone.
    """

    lix: float
    school_years: float
    n_words: int
    n_sentences: int


def grade(sentences: Iterable[str]) -> ReadingGrade | None:
    """Return how hard the sentences are to read, None without a word.

    Model: LIX = words ÷ sentences + 100 × words of more than six letters ÷ words. Flesch–Kincaid grade = 0.39 × words ÷
    sentences + 11.8 × syllables ÷ words − 15.59. A sentence ends at . ! ? : or at the end of a line; syllables as in
    `count_syllables`.
    Source: Björnsson, 1968, Läsbarhet (LIX); Kincaid, Fishburne, Rogers & Chissom, 1975, Research Branch Report 8-75
    (both from memory), tests/external/test_reading_grade.py.
    """
    parts = [part for line in sentences for part in re.split(r"[.!?:]+", line)]
    counted = [words for part in parts if (words := WORD.findall(part))]
    words = [word for part in counted for word in part]
    if not words:
        return None
    n, n_sentences = len(words), len(counted)
    n_long = sum(len(word) >= LONG_WORD for word in words)
    n_syllables = sum(count_syllables(word) for word in words)
    return ReadingGrade(
        lix=n / n_sentences + 100.0 * n_long / n,
        school_years=0.39 * n / n_sentences + 11.8 * n_syllables / n - 15.59,
        n_words=n,
        n_sentences=n_sentences,
    )


def count_syllables(word: str) -> int:
    """Return the syllables of an English word by rule: runs of vowels, a silent final e left out, one at least.

    A final e is silent unless it follows a consonant and l ("table") or is the only vowel ("the"); -es and -ed are not
    treated apart, so the count is rather too high than too low.
    """
    low = word.lower()
    n = len(VOWELS.findall(low))
    if low.endswith("e") and n > 1 and not re.search(r"[^aeiouy]le$|[aeiouy]e$", low):
        n -= 1
    return max(1, n)
