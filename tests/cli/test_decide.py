"""`pupilage decide`: counts in, decision out."""

import json
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from pupilage.cli.commands.decide import _mixed
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.training.criterion.decision import decide
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.record.evidence import Outcome, SessionKind, Trial


def test_the_answer_is_that_of_the_engine(run):
    said = json.loads(
        run("decide", "--behaviour", "sit", "--step", "word", "--trials", "m m x h m m m m", "--json").output
    )
    outcomes = [Outcome.MET] * 2 + [Outcome.MISSED, Outcome.HELPED] + [Outcome.MET] * 4
    trials = [
        Trial(str(n), "s", datetime(2026, 5, 4, 9, n, tzinfo=UTC), "sit", "word", outcome, SessionKind.TRAINING)
        for n, outcome in enumerate(outcomes)
    ]
    sit = load_bundled().behaviours["sit"]
    now = datetime(2026, 5, 4, 10, tzinfo=UTC)
    decision = decide(sit, "word", know({"sit": sit}, trials), session_id=None, now=now)
    assert said["action"] == decision.action.value
    assert said["reason"] == str(decision.reason)
    assert said["next_step"] == decision.step
    assert (said["n_met"], said["n_missed"], said["n_helped"]) == (6, 1, 1)
    assert (said["p_met_low"], said["p_met_high"]) == decision.reading.interval()


def test_counts_that_are_sure_enough_raise(run):
    done = run("decide", "--behaviour", "sit", "--step", "word", "--met", "10", "--missed", "1")
    assert done.exit_code == 0
    assert done.output.startswith("raise: 10 of 11 met")
    assert "Next step: quick" in done.output


def test_too_few_trials_are_said_to_be_too_few(run):
    said = json.loads(run("decide", "--behaviour", "sit", "--met", "2", "--json").output)
    assert said["enough"] is False
    assert said["action"] == "keep"


def test_counts_are_mixed_so_that_no_run_of_misses_is_made_up():
    assert _mixed(2, 2, 0) == [Outcome.MISSED, Outcome.MET, Outcome.MISSED, Outcome.MET] or _mixed(2, 2, 0) == [
        Outcome.MET, Outcome.MISSED, Outcome.MET, Outcome.MISSED,
    ]  # fmt: skip
    mixed = _mixed(9, 3, 2)
    assert [mixed.count(outcome) for outcome in (Outcome.MET, Outcome.MISSED, Outcome.HELPED)] == [9, 3, 2]
    assert mixed[-2:] != [Outcome.MISSED] * 2


@pytest.mark.parametrize(
    ("options", "code", "sentence"),
    [
        (["--behaviour", "fly"], 3, "“fly” is not in the catalogue"),
        (["--behaviour", "sit", "--step", "nowhere"], 2, "its steps are lure"),
        (["--behaviour", "sit", "--met", "-1"], 2, "--met: -1 trials cannot be"),
        (["--behaviour", "sit", "--trials", "m q"], 2, "“q” is no outcome"),
        (["--behaviour", "sit", "--trials", "m", "--met", "2"], 2, "not both"),
        ([], 2, "Missing option"),
    ],
)
def test_what_cannot_be_decided_is_said_without_a_traceback(run, options, code, sentence):
    done = run("decide", *options)
    assert done.exit_code == code
    assert sentence in done.output


@pytest.mark.parametrize("arguments", [["--help"], ["decide", "--behaviour", "sit", "--met", "9"]])
def test_neither_the_web_nor_the_records_are_loaded_for_it(arguments):
    """What makes these start within 0.4 s (measured by `pupilage bench`) is what they leave alone."""
    script = (
        "import sys; from pupilage.cli.main import pupilage\n"
        f"pupilage({arguments!r}, standalone_mode=False)\n"
        "heavy = {'django.db', 'django.http', 'django.template', 'cheroot', 'scipy.stats', 'rich'}\n"
        "print('loaded', sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.stdout.splitlines()[-1:] == ["loaded []"], done.stderr
