"""Whatever stands in a file, reading it gives a catalogue or InvalidInput, and nothing else."""

from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.catalogue.loading import SourceText, parse_catalogue
from pupilage.core.errors import InvalidInput, Problem
from unit.catalogue.sample import WHOLE, source

LINES = WHOLE.splitlines()
LITERALS = [
    "-1",
    "nan",
    "inf",
    "1e400",
    "[]",
    "{}",
    "[{}]",
    "[[1]]",
    "true",
    '""',
    "1979-05-27",
    "07:32:00",
    "0xffff",
]

edits = st.tuples(
    st.integers(0, len(WHOLE)),
    st.integers(0, 30),
    st.text(st.characters(codec="utf-8"), max_size=12),
)
values = st.one_of(st.sampled_from(LITERALS), st.integers().map(str), st.floats().map(repr))
swaps = st.tuples(st.integers(0, len(LINES) - 1), st.one_of(st.none(), values))


def is_read_or_refused(*sources: SourceText) -> bool:
    """Read the sources. Every refusal must have a place and a sentence for each fault."""
    return all(problem.where and str(problem.sentence) for problem in problems_of(sources))


def problems_of(sources: tuple[SourceText, ...]) -> tuple[Problem, ...]:
    """Return the faults of the sources; none when they are read."""
    try:
        parse_catalogue(sources)
    except InvalidInput as refusal:
        return refusal.problems
    return ()


@given(st.lists(edits, min_size=1, max_size=4))
def test_edited_characters_never_raise_anything_else(changes):
    text = WHOLE
    for start, removed, added in changes:
        text = text[:start] + added + text[start + removed :]
    assert is_read_or_refused(source(text))
    assert is_read_or_refused(source(WHOLE, "base.toml"), source(text))


@given(st.lists(swaps, min_size=1, max_size=4))
def test_exchanged_values_and_lost_lines_never_raise_anything_else(changes):
    lines = list(LINES)
    for at, value in changes:
        name, equals, _ = lines[at].partition(" = ")
        lines[at] = f"{name} = {value}" if equals and value is not None else ""
    text = "\n".join(lines)
    assert is_read_or_refused(source(text))
    assert is_read_or_refused(source(WHOLE, "base.toml"), source(text))


@given(st.text())
def test_any_text_at_all_is_read_or_refused(text):
    assert is_read_or_refused(source(text))
