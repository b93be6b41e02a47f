"""The phone's decision table says what the engine says, on every outcome of the next trials."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine_cases import LETTERS, START
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.advice import Action
from pupilage.core.training.criterion.decision import decide
from pupilage.core.training.criterion.tables import BETWEEN_TRIALS, Start, make_table, outcome_strings, written_after
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.record.evidence import SessionKind, Trial

BEHAVIOURS = load_bundled().behaviours
SIT = BEHAVIOURS["sit"]
STEP = SIT.steps[2].key
NOW = START + timedelta(minutes=3)


def record(letters, *, begin=START, session="s1"):
    return [
        Trial(
            f"{begin}-{i}",
            session,
            begin + timedelta(seconds=9 * i),
            SIT.key,
            STEP,
            LETTERS[letter],
            SessionKind.TRAINING,
        )
        for i, letter in enumerate(letters)
    ]


def table_after(letters, *, depth, **start):
    known = know(BEHAVIOURS, [*record("mmxm", begin=START - timedelta(days=1), session="s0"), *record(letters)])
    return known, make_table(SIT, known, Start("s1", STEP, NOW, **start), depth=depth)


@pytest.mark.parametrize("so_far", ["", "mmx", "mmmmmm", "mxmxmmxmmxmx"])
@pytest.mark.parametrize("pieces_left", [None, 2])
def test_table_equals_the_engine_asked_with_the_whole_log(so_far, pieces_left):
    known, table = table_after(so_far, depth=3, pieces_left=pieces_left)
    assert len(table) == sum(3**n for n in range(4))
    for outcomes in outcome_strings(3):
        trials = written_after(SIT, Start("s1", STEP, NOW), outcomes)
        asked = decide(
            SIT,
            STEP,
            know(BEHAVIOURS, [*known.trials, *trials]),
            session_id="s1",
            now=NOW + len(outcomes) * BETWEEN_TRIALS,
            pieces_left=None if pieces_left is None else max(0, pieces_left - len(outcomes.replace("x", ""))),
        )
        row = table[outcomes]
        assert (row.action, row.step, str(row.reason)) == (asked.action, asked.step, str(asked.reason)), outcomes
        assert row.reading.mean == pytest.approx(asked.reading.mean, abs=1e-12)


def test_table_equals_the_engine_though_the_tries_turn_out_to_be_timed():
    yesterday = [replace(t, latency_s=1.0 + i) for i, t in enumerate(record("mmxm", begin=START - timedelta(days=1)))]
    known = know(BEHAVIOURS, [*yesterday, *(replace(t, latency_s=1.2) for t in record("mmm"))])
    table = make_table(SIT, known, Start("s1", STEP, NOW), depth=2)
    for outcomes in outcome_strings(2):
        timed = [replace(t, latency_s=1.4) for t in written_after(SIT, Start("s1", STEP, NOW), outcomes)]
        later = NOW + len(outcomes) * BETWEEN_TRIALS
        asked = decide(SIT, STEP, know(BEHAVIOURS, [*known.trials, *timed]), session_id="s1", now=later)
        assert (table[outcomes].action, table[outcomes].step) == (asked.action, asked.step)
        assert table[outcomes].reading.mean == pytest.approx(asked.reading.mean, abs=1e-12)


def test_table_knows_that_the_pouch_will_be_empty():
    _, table = table_after("m", depth=2, pieces_left=2)
    assert table["mm"].action is Action.PAUSE
    assert table["xx"].action is not Action.PAUSE


def test_unknown_step_and_depth_are_refused():
    known = know(BEHAVIOURS, [])
    with pytest.raises(InvalidInput, match="no step of sit"):
        make_table(SIT, known, Start("s", "gone", NOW))
    with pytest.raises(InvalidInput, match="0 to 7"):
        make_table(SIT, known, Start("s", STEP, NOW), depth=8)
