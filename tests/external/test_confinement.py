"""The interval rule for confinement.

Source: "age in months + 1 hours", a rule of thumb of many handbooks, not measured data (worked example there: four
months, five hours); the values with a month of 30.4375 days were computed separately and rounded to two decimals.
"""

import pytest

from pupilage.core.care.confinement import AFTER_TRIGGER, DAYS_PER_MONTH, max_confinement_hours

HOURS_AT_WEEKS = {8: 2.84, 10: 3.30, 12: 3.76, 14: 4.22, 16: 4.68, 18: 5.14, 20: 5.60}


@pytest.mark.parametrize(("weeks", "hours"), HOURS_AT_WEEKS.items())
def test_ceiling_by_age_gives_the_printed_hours(weeks, hours):
    assert max_confinement_hours(weeks) == pytest.approx(hours, abs=0.005 + 1e-9)


def test_four_months_are_five_hours():
    assert max_confinement_hours(4 * DAYS_PER_MONTH / 7) == pytest.approx(5.0, abs=1e-12)


def test_outing_follows_a_trigger_within_five_minutes():
    """Handbook advice: within five minutes of waking, eating, drinking, playing."""
    assert AFTER_TRIGGER.total_seconds() == 300
