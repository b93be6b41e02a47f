"""The rows of the page on agreement: moments to talk over, and the figures of each word."""

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext

from pupilage.core.evaluation.comparison import CodeAgreement, Comparison
from pupilage.core.evaluation.talking_over import show_moment
from pupilage.core.training.record.evidence import Outcome
from pupilage.web.training_words import OUTCOME_WORDS

NONE = "–"


@dataclass(frozen=True)
class DifferingRow:
    """A moment to talk over, in words; one and other are None where that person marked nothing."""

    n: int
    at: str
    one: str | None
    other: str | None


@dataclass(frozen=True)
class CodeRow:
    """The agreement on one word, or on all of them, as it is shown. agreed: what of the words stands in a table."""

    word: str
    n_one: int
    n_other: int
    figures: tuple[str, ...]


def code_words(code: str) -> str:
    """Return a word of a coding; an outcome in the page's language."""
    return str(OUTCOME_WORDS[Outcome(code)]) if code in set(Outcome) else code


def differing_rows(found: Comparison) -> list[DifferingRow]:
    """Return the moments to talk over."""
    return [
        DifferingRow(
            one.n,
            show_moment(one.time_s),
            code_words(one.one) if one.one else None,
            code_words(one.other) if one.other else None,
        )
        for one in found.differing
    ]


def code_rows(found: Comparison) -> list[CodeRow]:
    """Return the figures, whatever the word first, then each word where there are several."""
    rows = [found.overall, *(found.codes if len(found.codes) > 1 else ())]
    return [
        CodeRow(code_words(r.code) if r.code else gettext("any"), r.n_one, r.n_other, (*_figures(r),)) for r in rows
    ]


def _figures(row: CodeAgreement) -> Iterator[str]:
    counts, intervals = row.counts, row.intervals
    for share in (counts.total, counts.mean, counts.exact, intervals.all, intervals.scored, intervals.unscored):
        yield NONE if share is None else f"{100.0 * share:.0f}"
