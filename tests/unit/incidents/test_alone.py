from datetime import UTC, datetime, timedelta
from itertools import pairwise
from math import exp, log

import numpy as np
import pytest
from scipy.integrate import quad

import pupilage.core.incidents.alone as alone
from pupilage.core.errors import InvalidInput
from pupilage.core.incidents.alone import Absence, Ceiling, Sign, next_absence, next_absences, read_calm, span
from pupilage.core.words import sentence

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


def test_next_few_vary_and_none_passes_what_is_sure():
    proposed = next_absences(CALM, age_weeks=12, n=6)
    assert proposed[0] == next_absence(CALM, age_weeks=12)
    lengths = [one.seconds for one in proposed]
    assert max(lengths) <= read_calm(CALM).sure_s
    assert len(set(lengths)) > 3
    assert any(later < earlier for earlier, later in pairwise(lengths))


def test_bladder_is_a_ceiling_and_says_so():
    ceiling = Ceiling(600.0, sentence("It may have to go out by then."))
    long = absences(*[(7 * 3600.0, Sign.NONE)] * 12)
    proposed = next_absences(long, age_weeks=12, n=6, ceiling=ceiling)
    assert max(one.seconds for one in proposed) == 600.0
    assert str(proposed[0].reason) == "It may have to go out by then."


def test_panic_by_signs_together_ends_the_absences_too():
    panic = Absence(START + timedelta(days=1), 30.0, Sign.WHINING, panic=True)
    assert [one.seconds for one in next_absences([*CALM, panic], age_weeks=12)] == [None]


def test_sign_found_afterwards_shortens_the_next_without_a_time():
    found = Absence(START + timedelta(days=1), 600.0, Sign.DAMAGE, known=False)
    answer = next_absence([*CALM, found], age_weeks=12)
    assert answer.seconds <= read_calm([*CALM, found]).sure_s
    assert "was found after 10 min" in str(answer.reason)


def test_sign_found_afterwards_weighs_as_one_that_came_by_then(monkeypatch):
    # One shape, k = 1: the chance of a sign by 50 s is 1 - exp(-50 / scale), integrated over the scale.
    monkeypatch.setattr(alone, "_SHAPES", np.array([1.0]))
    found = read_calm([Absence(START, 50.0, Sign.DAMAGE, known=False)])

    def weight(x):
        return exp(-0.5 * ((x - log(300.0)) / 2.2) ** 2) * -np.expm1(-50.0 / exp(x))

    def calm(t):
        limits = log(0.5), log(1e7)
        return quad(lambda x: weight(x) * exp(-t / exp(x)), *limits, limit=200)[0] / quad(weight, *limits, limit=200)[0]

    assert calm(found.likely_s) == pytest.approx(0.5, abs=5e-3)


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.2, "1 s"),
        (40.4, "40 s"),
        (60, "1 min"),
        (150, "2 min 30 s"),
        (899, "15 min"),
        (3900, "1 h 5 min"),
        (7200, "2 h"),
    ],
)
def test_spans_are_said_as_people_say_them(seconds, words):
    assert span(seconds) == words


def test_without_a_sign_the_next_is_at_most_half_as_long_again():
    """Calm for ten seconds once, after hours of calm: the sure time is far beyond 15 s, and so is the age's."""
    record = [Absence(START + timedelta(hours=i), 10.0) for i in range(400)]
    assert read_calm(record).sure_s > 16.0
    assert max(one.seconds for one in next_absences(record, age_weeks=12, n=6)) == 15.0
    hundred = [Absence(START + timedelta(hours=i), 100.0) for i in range(400)]
    assert read_calm(hundred).sure_s > 160.0
    assert max(one.seconds for one in next_absences(hundred, age_weeks=12, n=6)) == 150.0


def test_after_a_sign_the_next_is_half_the_time_until_it():
    """Nine calm hours, then a sign at 50 min: 25 min; one after 49.8 s: 24 s, in whole seconds below."""
    for until_s, next_s in ((3000.0, 1500.0), (49.8, 24.0)):
        record = [*absences(*[(9 * 3600.0, Sign.NONE)] * 60), Absence(START + timedelta(days=9), until_s, Sign.HOWLING)]
        assert read_calm(record).sure_s > until_s / 2
        assert next_absence(record, age_weeks=12).seconds == next_s


def test_age_is_a_ceiling_in_hours_of_months_and_one():
    """Common practice: age in months + 1. At 12 weeks, 12 · 7 ÷ 30.44 months: 3.76 h, told in whole minutes."""
    long = absences(*[(9 * 3600.0, Sign.NONE)] * 60)
    found = next_absences(long, age_weeks=12, n=6)
    most = max(one.seconds for one in found)
    assert 0.0 <= 3600.0 * (12 * 7 / 30.44 + 1) - most < 60.0
    assert len({str(one.reason) for one in found}) == 1


def test_four_are_proposed_unless_more_are_asked_for():
    assert len(next_absences(CALM, age_weeks=12)) == len(next_absences([], age_weeks=12)) == 4


def test_six_lengths_are_those_of_fleshler_and_hoffmans_list_cut_to_the_longest():
    """Mean 0.9 of the longest, six terms: of 900 s by their formula, in whole steps, in the order 3 5 2 6 1 4."""
    n, mean = 6, 0.9 * 900.0
    terms = [
        mean * (1 + log(n) + (n - k) * (log(n - k) if k < n else 0.0) - (n - k + 1) * log(n - k + 1))
        for k in range(1, n + 1)
    ]
    record = [Absence(START + timedelta(hours=i), 7 * 3600.0) for i in range(60)]
    ceiling = Ceiling(900.0, sentence("It may have to go out by then."))
    found = [one.seconds for one in next_absences(record, age_weeks=12, n=6, ceiling=ceiling)]
    for seconds, place in zip(found, (3, 5, 2, 6, 1, 4), strict=True):
        wanted = min(900.0, terms[place - 1])
        step = 1.0 if wanted < 30 else 5.0 if wanted < 120 else 15.0 if wanted < 600 else 60.0
        assert seconds == step * (wanted // step)
