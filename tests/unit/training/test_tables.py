"""The phone's decision table says what the engine says, on every outcome of the next trials."""

from datetime import timedelta

import pytest

from engine_cases import LETTERS, START
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.training.advice import Counts, advise
from pupilage.core.training.evidence import SessionKind, Trial
from pupilage.core.training.state import at_moment, fold_dog
from pupilage.core.training.tables import make_table, outcome_strings

BEHAVIOURS = load_bundled().behaviours
SIT = BEHAVIOURS["sit"]
NOW = START + timedelta(minutes=3)


def record(letters, *, begin=START, step=2):
    return [
        Trial(
            f"{begin}-{i}",
            "s1",
            begin + timedelta(seconds=9 * i),
            SIT.key,
            SIT.steps[step].key,
            LETTERS[letter],
            SessionKind.TRAINING,
        )
        for i, letter in enumerate(letters)
    ]


@pytest.mark.parametrize("so_far", ["", "mmx", "mmmmmm"])
def test_table_equals_the_engine_asked_with_the_whole_log(so_far):
    counts = Counts()
    for letter in so_far:
        counts = counts.after(letter)
    table = make_table(
        SIT, SIT.steps[2].key, fold_dog(BEHAVIOURS, record(so_far)), counts, session_id="s1", now=NOW, depth=4
    )
    assert len(table) == sum(3**n for n in range(5))
    for outcomes in outcome_strings(4):
        log = [*record(so_far), *record(outcomes, begin=NOW)]
        then = counts
        for letter in outcomes:
            then = then.after(letter)
        now = at_moment(fold_dog(BEHAVIOURS, log), SIT.key, now=NOW + timedelta(minutes=1))
        asked = advise(SIT, 2, now, then)
        row = table[outcomes]
        assert (row.action, row.step, str(row.reason)) == (
            asked.action,
            SIT.steps[asked.step].key,
            str(asked.reason),
        ), outcomes


def test_unknown_step_and_depth_are_refused():
    state = fold_dog(BEHAVIOURS, [])
    with pytest.raises(InvalidInput, match="no step of sit"):
        make_table(SIT, "gone", state, Counts(), session_id="s", now=NOW)
    with pytest.raises(InvalidInput, match="0 to 7"):
        make_table(SIT, SIT.steps[0].key, state, Counts(), session_id="s", now=NOW, depth=8)
