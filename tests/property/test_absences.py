"""What holds for any record of time alone."""

from datetime import UTC, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from pupilage.core.care.confinement import max_confinement_hours
from pupilage.core.incidents.alone import Absence, Sign, next_absences, read_calm

START = datetime(2026, 5, 12, 9, tzinfo=UTC)
SIGNS = st.sampled_from([Sign.NONE, Sign.NONE, Sign.WHINING, Sign.DAMAGE])
RECORDS = st.lists(st.tuples(st.floats(0.5, 3600.0), SIGNS, st.booleans()), min_size=1, max_size=15)


def record_of(drawn):
    return [
        Absence(START + timedelta(hours=i), seconds, sign, known=known or sign is Sign.NONE)
        for i, (seconds, sign, known) in enumerate(drawn)
    ]


@settings(max_examples=60)
@given(RECORDS, st.floats(7.0, 30.0))
def test_no_proposal_passes_the_calm_time_or_the_age(drawn, age_weeks):
    record = record_of(drawn)
    calm = read_calm(record)
    for one in next_absences(record, age_weeks=age_weeks):
        assert 1.0 <= one.seconds <= max(1.0, min(calm.sure_s, 3600.0 * max_confinement_hours(age_weeks)))


@settings(max_examples=60)
@given(RECORDS)
def test_one_more_calm_absence_beyond_the_calm_time_never_shortens_it(drawn):
    # One at the newest place, kept at the age of the others: only what it says is compared.
    record = record_of(drawn)
    before = read_calm([*record, Absence(START + timedelta(days=1), 1e-3)])
    after = read_calm([*record, Absence(START + timedelta(days=1), 2.0 * before.sure_s)])
    assert after.sure_s >= before.sure_s * (1.0 - 1e-9)


@settings(max_examples=60)
@given(RECORDS)
def test_sign_instead_of_calm_never_lengthens_it(drawn):
    record = record_of(drawn)
    at = START + timedelta(days=1)
    calm = read_calm([*record, Absence(at, 30.0)])
    assert read_calm([*record, Absence(at, 30.0, Sign.BARKING, known=False)]).sure_s <= calm.sure_s * (1.0 + 1e-9)
