"""An absence as it is written down: what it tells, and what cannot be."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from pupilage.core.incidents.absences import AbsenceRecord, SignAt, Watched, problems_of, told_by, waits_of
from pupilage.core.incidents.alone import Absence, Sign

AT = datetime(2026, 5, 12, 9, tzinfo=UTC)
ONE = AbsenceRecord("one", AT, 120.0)


def problems(record, others=(), **changes):
    given = {"now": AT + timedelta(hours=1), "arrived_at": AT - timedelta(days=3), "zone": UTC} | changes
    return [str(one) for one in problems_of(record, others, **given)]


def test_calm_absence_tells_that_it_could_have_been_longer():
    assert ONE.told() == Absence(AT, 120.0)


def test_earliest_sign_is_the_one_that_counts():
    record = replace(ONE, signs=(SignAt(Sign.BARKING, 90.0), SignAt(Sign.WHINING, 30.0), SignAt(Sign.DAMAGE)))
    assert record.told() == Absence(AT, 30.0, Sign.WHINING)


def test_sign_in_the_moment_of_leaving_counts_as_half_a_second():
    assert replace(ONE, signs=(SignAt(Sign.WHINING, 0.0),)).told() == Absence(AT, 0.5, Sign.WHINING)


def test_sign_found_afterwards_came_at_some_time_and_is_in_no_curve():
    record = replace(ONE, signs=(SignAt(Sign.DAMAGE),), watched=Watched.NOT)
    assert record.told() == Absence(AT, 120.0, Sign.DAMAGE, known=False)
    assert waits_of(told_by([record])) == []


def test_what_nobody_watched_tells_nothing():
    assert told_by([replace(ONE, watched=Watched.NOT), ONE]) == [ONE.told()]


def test_calm_is_known_only_for_as_long_as_somebody_watched():
    assert replace(ONE, watched_s=50.0).told() == Absence(AT, 50.0)


def test_food_left_alone_is_no_sign_of_distress_by_itself():
    assert replace(ONE, signs=(SignAt(Sign.NOT_EATING),)).told() == Absence(AT, 120.0)


def test_panic_counts_whatever_came_first():
    told = replace(ONE, signs=(SignAt(Sign.WHINING, 5.0), SignAt(Sign.INJURY))).told()
    assert (told.sign, told.panic) == (Sign.WHINING, True)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"away_s": 0.0}, "0 s away cannot be"),
        ({"away_s": float("nan")}, "nan s away cannot be"),
        ({"away_s": 25 * 3600.0}, "no more than 24 hours"),
        ({"at": AT + timedelta(hours=2)}, "end in the future"),
        ({"at": AT - timedelta(days=9)}, "before the pup came on 2026-05-09"),
        ({"signs": (SignAt(Sign.BARKING, 121.0),)}, "“barking” after 121 s is not while you were away for 120 s"),
        ({"signs": (SignAt(Sign.BARKING, -1.0),)}, "put one of the two right"),
        ({"signs": (SignAt(Sign.NONE, 1.0),)}, "“None” is no sign"),
        ({"signs": (SignAt(Sign.BARKING, 9.0),), "watched": Watched.NOT}, "Nobody watched"),
        ({"watched_s": 0.0}, "tells nothing"),
    ],
)
def test_what_cannot_be_is_said_in_a_sentence(changes, words):
    (found,) = problems(replace(ONE, **changes))
    assert words in found


def test_all_that_is_wrong_is_said_at_once():
    record = replace(ONE, at=AT - timedelta(days=9), signs=(SignAt(Sign.BARKING, 500.0), SignAt(Sign.HOWLING, 600.0)))
    assert len(problems(record)) == 3


def test_overlap_names_the_other_absence():
    later = replace(ONE, id="two", at=AT + timedelta(seconds=100))
    (found,) = problems(later, [ONE])
    assert "the absence of 2 min from 2026-05-12 09:00 on" in found
    assert problems(replace(later, at=AT + timedelta(seconds=120)), [ONE]) == []


def test_longer_than_the_age_allows_is_written_down_all_the_same():
    assert problems(replace(ONE, at=AT - timedelta(hours=20), away_s=9 * 3600.0)) == []
