"""What the time-alone page draws and compares, beside lifelines run in .venv-checks on the same record.

Kaplan & Meier (1958), J. Am. Stat. Assoc. 53, 457-481; limits on the complementary log-log scale; Mantel (1966).
"""

import json
from datetime import UTC, timedelta
from pathlib import Path

import numpy as np
import pytest

from pupilage.cli.checks_environment import ask
from pupilage.core.incidents.absences import AbsenceRecord, SignAt, told_by, waits_of
from pupilage.core.incidents.alone import Sign
from pupilage.core.incidents.growth import STRETCH, read_growth
from pupilage.core.incidents.survival import survival_of
from pupilage.core.simulation.left_alone import FIRST_DAY

BESIDE = Path(__file__).resolve().parent.parent / "beside"


def made_up() -> list[AbsenceRecord]:
    """Return three weeks of absences whose tolerance doubles each week, with ties and signs found afterwards."""
    rng = np.random.default_rng(5)
    records = []
    for n in range(63):
        at = FIRST_DAY + timedelta(days=n // 3, hours=n % 3)
        away_s = float(rng.integers(2, 30) * 10)
        until_s = round(60.0 * 2.0 ** (n / 21.0) * float(rng.weibull(1.5)), -1)
        signs = (SignAt(Sign.WHINING, max(10.0, until_s)),) if until_s < away_s else ()
        records.append(AbsenceRecord(str(n), at, away_s, (SignAt(Sign.DAMAGE),) if n % 20 == 19 else signs))
    return records


@pytest.mark.usefixtures("other_programs")
def test_page_draws_and_compares_as_lifelines_does():
    told = told_by(made_up())
    waits = waits_of(told)
    known = [one for one in told if one.known]
    first, latest = known[0].at + STRETCH, known[-1].at - STRETCH
    ends = [one.at < first or one.at > latest for one in known]
    curve, growth = survival_of(waits), read_growth(told, zone=UTC)
    whole = _ask(known, [False] * (len(known) - 1) + [True])
    assert curve.times.tolist() == whole["times"]
    assert curve.share.tolist() == pytest.approx(whole["share"], abs=1e-12)
    inside = curve.share > 0.0
    assert curve.low[inside].tolist() == pytest.approx(np.array(whole["low"])[inside].tolist(), abs=1e-9)
    assert curve.high[inside].tolist() == pytest.approx(np.array(whole["high"])[inside].tolist(), abs=1e-9)
    of_ends = [one for one, is_end in zip(known, ends, strict=True) if is_end]
    compared = _ask(of_ends, [one.at > latest for one in of_ends])
    assert growth.stretches.p == pytest.approx(compared["p"], rel=1e-9)
    assert growth.stretches.longer


def _ask(absences, later):
    seconds = [one.seconds for one in absences]
    came = [int(one.sign is not Sign.NONE) for one in absences]
    return ask(BESIDE / "alone_fits.py", json.dumps(seconds), json.dumps(came), json.dumps([int(x) for x in later]))
