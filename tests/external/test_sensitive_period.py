"""The sensitive period against what the literature gives.

Sources: Scott and Fuller (1965), Genetics and the Social Behavior of the Dog; Freedman, King and Elliot (1961), Science
133:1016: from about 3 to about 12, some say 14, weeks (from memory). AVSAB position statement on puppy socialization:
“the first three months” are the most important.
"""

from datetime import date, timedelta

from pupilage.core.care.exposures.period import sensitive_period

BORN = date(2026, 1, 1)


def test_it_opens_at_three_weeks_begins_to_close_at_twelve_and_is_closed_at_fourteen():
    period = sensitive_period(BORN)
    assert period.opens_on == BORN + timedelta(days=21)
    assert period.begins_to_close_on == BORN + timedelta(days=84)
    assert period.closes_on == BORN + timedelta(days=98)


def test_three_months_lie_where_it_is_closing():
    """Three calendar months from 1 January is 1 April: 90 days."""
    period = sensitive_period(BORN)
    assert period.begins_to_close_on < date(2026, 4, 1) < period.closes_on


def test_a_pup_that_comes_at_eight_weeks_has_four_to_six_of_them():
    period = sensitive_period(BORN)
    arrives = BORN + timedelta(weeks=8)
    assert (period.begins_to_close_on - arrives).days == 4 * 7
    assert period.days_left(arrives) == 6 * 7
