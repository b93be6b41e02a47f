"""A whole session's table says what the engine says, and never has a row without the rows that lead to it."""

from datetime import timedelta
from itertools import product

import numpy as np
import pytest

from engine_cases import START, series
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.training.criterion.advice import Action, count
from pupilage.core.training.criterion.decision import judge_run
from pupilage.core.training.criterion.phone_rules import judge_by_counts
from pupilage.core.training.criterion.session_table import FOLLOWED, make_session_table, trials_of
from pupilage.core.training.criterion.tables import Start
from pupilage.core.training.criterion.welfare import MAX_SESSION_TRIALS
from pupilage.core.training.posterior.knowledge import know

BEHAVIOURS = load_bundled().behaviours
SIT = BEHAVIOURS["sit"]
STEP = SIT.steps[2].key


def table_after(letters, **more):
    yesterday = series(letters, step=STEP, session="s0", start=START - timedelta(days=1), behaviour=SIT.key)
    known, start = know(BEHAVIOURS, yesterday), Start("s1", STEP, START, days_left=10)
    return known, start, make_session_table(SIT, known, start, **more)


def asked(known, start, outcomes, table):
    """Return the engine's advice with the whole log that a string stands for."""
    trials = trials_of(SIT, start, outcomes, table)
    here = table[outcomes[:-1]].step if outcomes.endswith(FOLLOWED) else (trials[-1].step if trials else start.step)
    whole = know(BEHAVIOURS, [*known.trials, *trials])
    return here, judge_run(SIT, here, whole, now=trials[-1].at if trials else START, days_left=10)


@pytest.mark.parametrize("so_far", ["", "mmxm", "mmmmmmmmmm"])
def test_every_row_of_the_exhaustive_part_is_the_engine_asked_with_the_whole_log(so_far):
    known, start, table = table_after(so_far, whole=3, most_rows=1)
    assert {"".join(s) for n in range(4) for s in product("mxh", repeat=n)} <= set(table)
    for outcomes, row in table.items():
        _, advice = asked(known, start, outcomes, table)
        assert (row.action, row.step, str(row.reason)) == (
            advice.action,
            SIT.steps[advice.step].key,
            str(advice.reason),
        ), outcomes


def test_rows_beyond_are_the_engines_too():
    """Sixty rows drawn at random among those with more than three tries."""
    known, start, table = table_after("mmxmm", whole=2, most_rows=400)
    beyond = sorted(word for word in table if len(word) > 3)
    for outcomes in np.random.default_rng(20310510).choice(beyond, size=60, replace=False):
        _, advice = asked(known, start, str(outcomes), table)
        row = table[str(outcomes)]
        assert (row.step, str(row.reason)) == (SIT.steps[advice.step].key, str(advice.reason)), outcomes


def test_no_row_stands_without_those_that_lead_to_it_and_none_goes_beyond_a_session():
    _, _, table = table_after("mmmmmmmmmm", most_rows=300)
    assert len(table) == 300
    assert all(word[:-1] in table for word in table if word)
    assert max(len(word.replace(FOLLOWED, "")) for word in table) <= MAX_SESSION_TRIALS
    assert all(table[word[:-1]].action is not Action.PAUSE for word in table if word)
    for word in table:
        if word.endswith(FOLLOWED):
            assert table[word[:-1]].action in (Action.RAISE, Action.LOWER)


def test_all_strings_of_two_tries_are_there_whatever_the_rows_allowed():
    _, _, table = table_after("", whole=2, most_rows=1)
    assert {"".join(s) for n in range(3) for s in product("mxh", repeat=n)} <= set(table)


def test_unknown_step_and_figures_are_refused():
    known = know(BEHAVIOURS, [])
    with pytest.raises(InvalidInput, match="no step of sit"):
        make_session_table(SIT, known, Start("s", "gone", START))
    with pytest.raises(InvalidInput, match="0 to 5 tries"):
        make_session_table(SIT, known, Start("s", STEP, START), whole=6)


@pytest.mark.parametrize(
    ("letters", "place", "action", "to"),
    [
        ("mmmm", 2, Action.KEEP, 2),
        ("mmmmmmm", 2, Action.RAISE, 3),  # seven met: 7 × ln(0.85/0.60) = 2.44, beyond ln 9 = 2.20
        ("mmmmmm", 2, Action.KEEP, 2),  # six: 2.09
        ("xxx", 2, Action.LOWER, 1),
        ("xmxhx", 2, Action.LOWER, 1),  # 0.35 - 4 × 0.98 is held at ln(1/9)
        ("xxx", 0, Action.PAUSE, 0),
        ("sssssss", 2, Action.KEEP, 2),  # none of full length
        ("ssssmmm", 2, Action.RAISE, 3),
    ],
)
def test_counts_alone_decide_as_walds_test_does(letters, place, action, to):
    """Source: Wald (1945), limits ln 9 and -ln 9 for both errors 0.10; the sums above by hand."""
    found = judge_by_counts(SIT, place, count(letters), goal=SIT.step_index(SIT.target))
    assert (found.action, found.step) == (action, to)


def test_counts_alone_never_raise_beyond_the_goal():
    assert judge_by_counts(SIT, 2, count("m" * 9), goal=2).action is Action.KEEP
