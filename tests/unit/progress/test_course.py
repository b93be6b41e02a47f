"""The evenings: each as the engine would have said it then, and the same whether folded at once or day by day."""

from dataclasses import replace
from datetime import timedelta

import pytest

from engine_cases import WAIT, daily_trials, day, known_of, ladder
from pupilage.core.progress.course import follow
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import at_moment
from pupilage.core.training.record.evidence import Outcome

OTHER = ladder(1.0, 2.0, key="stay")
LETTERS = ("xxmxx", "mxmxm", "mmmxm", "mmmmm")


def record() -> list:
    own = [daily_trials(WAIT, letters, step=min(n, 2), day=n) for n, letters in enumerate(LETTERS)]
    other = [replace(trial, event_id=f"o{trial.event_id}") for trial in daily_trials(OTHER, "mmxm", day=1)]
    return [trial for some in own for trial in some] + other


BOTH = {WAIT.key: WAIT, OTHER.key: OTHER}


def test_evening_is_what_the_engine_said_on_that_day() -> None:
    course = follow(know(BOTH, record()))
    for n in range(len(LETTERS)):
        then = know(BOTH, [trial for trial in record() if trial.at < day(n + 1, hour=0)])
        reading = read_step(at_moment(then.state, WAIT.key, now=day(n, hour=10)), 2, tired=0.0)
        found = course.of(WAIT.key)[n]
        assert found.day == day(n).date()
        assert (found.steps[2].p, found.steps[2].low) == pytest.approx((reading.mean, reading.interval()[0]), abs=1e-12)


def test_only_the_days_of_practice_have_an_evening() -> None:
    course = follow(know(BOTH, record()))
    assert [one.day for one in course.of(OTHER.key)] == [day(1).date()]
    assert course.of("somersault") == ()
    assert follow(know(BOTH, [])).evenings == {}


def test_going_on_day_by_day_is_going_through_it_all() -> None:
    trials = sorted(record(), key=lambda trial: trial.at)
    whole, course = follow(know(BOTH, trials)), None
    for n in range(1, len(trials) + 1):
        course = follow(know(BOTH, trials[:n]), earlier=course)
    assert course is not None
    for key in BOTH:
        assert [one.day for one in course.of(key)] == [one.day for one in whole.of(key)]
        for mine, theirs in zip(course.of(key), whole.of(key), strict=True):
            assert [one.p for one in mine.steps] == pytest.approx([one.p for one in theirs.steps], abs=1e-12)


def test_correction_of_an_old_try_is_followed_from_the_start() -> None:
    trials = sorted(record(), key=lambda trial: trial.at)
    before = follow(know(BOTH, trials))
    corrected = [replace(trials[0], outcome=Outcome.MET), *trials[1:]]
    after = follow(know(BOTH, corrected), earlier=before)
    assert after.evenings == follow(know(BOTH, corrected)).evenings
    assert after.of(WAIT.key)[0] != before.of(WAIT.key)[0]


def test_trial_taken_back_from_the_newest_day_leaves_no_evening_behind() -> None:
    trials = daily_trials(WAIT, "mmm") + daily_trials(WAIT, "m", day=1)
    before = follow(known_of(trials))
    after = follow(known_of(trials[:-1]), earlier=before)
    assert [one.day for one in after.of(WAIT.key)] == [day(0).date()]


def test_nothing_but_void_tries_is_no_evening() -> None:
    assert follow(known_of(daily_trials(WAIT, "vv"))).of(WAIT.key) == ()


def test_late_tries_of_an_earlier_day_are_put_where_they_belong() -> None:
    """A phone without a network sends yesterday's session after today's."""
    yesterday, today = daily_trials(WAIT, "mmxm", day=1), daily_trials(WAIT, "mm", step=1, day=2)
    late = [
        replace(t, event_id=f"late{t.event_id}", session_id="late", at=t.at + timedelta(hours=4)) for t in yesterday
    ]
    before = follow(known_of([*yesterday, *today]))
    after = follow(known_of([*yesterday, *late, *today]), earlier=before)
    assert after.evenings == follow(known_of([*yesterday, *late, *today])).evenings
    assert [one.day for one in after.of(WAIT.key)] == [day(1).date(), day(2).date()]
