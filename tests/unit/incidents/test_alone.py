from datetime import UTC, datetime, timedelta
from itertools import pairwise
from math import exp, log

import numpy as np
import pytest
from scipy.integrate import quad

import pupilage.core.incidents.alone as alone
from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.alone import Absence, Sign, next_absence, read_calm

START = datetime(2026, 5, 12, 9, tzinfo=UTC)


def absences(*pairs):
    return [Absence(START + timedelta(hours=i), seconds, sign) for i, (seconds, sign) in enumerate(pairs)]


CALM = absences(*[(60.0, Sign.NONE)] * 6)


def test_grid_is_the_integral_of_the_model(monkeypatch):
    # With one shape, k = 1, the predictive chance of calm through t is a ratio of two integrals over the scale.
    monkeypatch.setattr(alone, "_SHAPES", np.array([1.0]))
    record = absences((30.0, Sign.NONE), (50.0, Sign.WHINING))

    def weight(x):
        scale = exp(x)
        first, second = 0.9 * -30.0 / scale, -50.0 / scale - x
        return exp(-0.5 * ((x - log(300.0)) / 2.2) ** 2 + first + second)

    def calm(t):
        limits = log(0.5), log(1e6)
        return quad(lambda x: weight(x) * exp(-t / exp(x)), *limits, limit=200)[0] / quad(weight, *limits, limit=200)[0]

    found = read_calm(record)
    assert calm(found.sure_s) == pytest.approx(0.9, abs=2e-3)
    assert calm(found.likely_s) == pytest.approx(0.5, abs=2e-3)


def test_calm_absences_lengthen_what_is_sure():
    assert read_calm(CALM[:1]).sure_s < read_calm(CALM[:3]).sure_s < read_calm(CALM).sure_s
    assert read_calm(CALM).prior_share < read_calm(CALM[:1]).prior_share < 1.0


def test_order_of_the_log_does_not_matter():
    mixed = absences((20.0, Sign.NONE), (40.0, Sign.WHINING), (15.0, Sign.NONE))
    assert read_calm(mixed[::-1]) == read_calm(mixed)


def test_first_absence_is_a_step_through_the_door():
    assert next_absence([], age_weeks=9).seconds == 5.0


def test_a_sign_halves_the_next_absence():
    later = [*CALM, Absence(START + timedelta(days=1), 80.0, Sign.BARKING)]
    assert 20.0 < next_absence(later, age_weeks=10).seconds <= min(40.0, read_calm(later).sure_s)


def test_lengths_vary_and_never_pass_what_is_sure():
    lengths = []
    record = list(CALM)
    for i in range(12):
        found = next_absence(record, age_weeks=12).seconds
        assert found <= read_calm(record).sure_s
        assert found <= 1.5 * max(a.seconds for a in record)
        lengths.append(found)
        record.append(Absence(START + timedelta(days=1, hours=i), found))
    assert len({round(x) for x in lengths}) > 4
    assert any(later < earlier for earlier, later in pairwise(lengths))


def test_panic_ends_the_absences_and_names_the_veterinarian():
    found = next_absence([*CALM, Absence(START + timedelta(days=1), 30.0, Sign.PANIC)], age_weeks=12)
    assert found.seconds is None
    assert "veterinarian" in str(found.reason)


@pytest.mark.parametrize("seconds", [0.0, -3.0, float("nan"), float("inf")])
def test_absences_that_cannot_be_are_refused(seconds):
    with pytest.raises(InvalidInput):
        read_calm(absences((seconds, Sign.NONE)))


def test_no_absence_is_longer_than_the_age_allows():
    long = absences(*[(7 * 3600.0, Sign.NONE)] * 12)
    assert next_absence(long, age_weeks=8).seconds <= 2.9 * 3600.0
