"""Days left until the sensitive period closes."""

from datetime import date, timedelta

import pytest

from pupilage.core.care.exposures.period import sensitive_period

BORN = date(2026, 2, 25)
PERIOD = sensitive_period(BORN)


@pytest.mark.parametrize(("weeks", "left"), [(8, 42), (12, 14), (13, 7), (14, 0), (30, 0)])
def test_days_left_run_to_fourteen_weeks_and_never_below_zero(weeks, left):
    assert PERIOD.days_left(BORN + timedelta(weeks=weeks)) == left


@pytest.mark.parametrize(
    ("weeks", "told"), [(8, "begin to close in 28 days"), (13, "are closing: about 7 days"), (20, "are over")]
)
def test_words_say_what_the_age_means(weeks, told):
    assert told in str(PERIOD.words(BORN + timedelta(weeks=weeks)))
