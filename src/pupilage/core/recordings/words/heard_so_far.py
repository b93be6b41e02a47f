"""How rightly each word was heard so far, by what a person looked at: suggestions that were right, and words missed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from pupilage.core.training.posterior.intervals import wilson

NEEDED = 10
"""With fewer, a share says next to nothing: of ten right out of ten the limits are still 72 to 100 %. Our choice."""


Word = tuple[str, str]
"""What it is for, and how it is said."""


@dataclass(frozen=True)
class Share:
    """A share with its limits of 95 %."""

    n_met: int
    n: int
    low: float
    high: float

    @property
    def p_met(self) -> float:
        """The share itself."""
        return self.n_met / self.n


@dataclass(frozen=True)
class HeardSoFar:
    """One word. n_right: suggested and said; n_wrong: suggested and not said; n_missed: said and not suggested."""

    word: Word
    n_right: int
    n_wrong: int
    n_missed: int

    @property
    def right(self) -> Share | None:
        """Of its suggestions that were looked at, those that were right; None with fewer than ten."""
        return _share(self.n_right, self.n_right + self.n_wrong)

    @property
    def found(self) -> Share | None:
        """Of the times that it was said, those that were suggested; None with fewer than ten."""
        return _share(self.n_right, self.n_right + self.n_missed)


def count_heard(words: Sequence[Word], looked_at: Iterable[tuple[Word | None, Word | None]]) -> list[HeardSoFar]:
    """Return how rightly each word was heard so far, in the order of the words.

    Model: each moment looked at counts for what was suggested and for what was said; one that was taken for another is
    a wrong one of the first and a missed one of the second. Limits by `wilson`.
    Parameters: looked_at: (what was suggested or None, what was said or None) of each moment; others than the words
    are passed over. Source: Wilson, 1927, J. Am. Stat. Assoc. 22; limits beside statsmodels', and
    counts beside a table's, in tests/external/test_heard_so_far.py.
    """
    moments = list(looked_at)
    return [_counted(word, moments) for word in words]


def _counted(word: Word, moments: Sequence[tuple[Word | None, Word | None]]) -> HeardSoFar:
    n_right = sum(heard == word == said for heard, said in moments)
    n_wrong = sum(heard == word != said for heard, said in moments)
    n_missed = sum(heard != word == said for heard, said in moments)
    return HeardSoFar(word, n_right, n_wrong, n_missed)


def _share(n_met: int, n: int) -> Share | None:
    return Share(n_met, n, *wilson(n_met, n)) if n >= NEEDED else None
