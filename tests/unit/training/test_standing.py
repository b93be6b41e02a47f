"""Where practice stands."""

from engine_cases import WAIT, day, known_of, series
from pupilage.core.training.criterion.standing import current_step
from pupilage.core.training.record.evidence import SessionKind


def standing(trials):
    return current_step(WAIT, known_of(trials), now=day(1))


def probe(letters, step):
    return series(letters, step=step, session=f"probe-{step}", kind=SessionKind.PROBE)


def test_nothing_known_begins_at_the_first_step():
    assert standing([]) == "a"


def test_step_follows_the_last_trial():
    assert standing(series("mmmx", step="b")) == "b"


def test_raise_earned_at_the_end_of_a_session_carries_to_the_next():
    assert standing(series("m" * 8, step="b")) == "c"


def test_lower_at_the_end_carries_too_and_the_first_step_is_the_floor():
    assert standing(series("xxx", step="b")) == "a"
    assert standing(series("xxx", step="a")) == "a"


def test_baseline_begins_at_the_highest_step_met_cold():
    probes = [*probe("mmmmm", "a"), *probe("mmmxm", "b"), *probe("mxxmx", "c")]
    assert standing(probes) == "b"
    assert standing(probe("xxx", "c")) == "a"
    assert standing(probe("v", "c")) == "a"


def test_training_outweighs_the_baseline():
    assert standing([*probe("mmmmm", "c"), *series("mm", step="a", start=day(1))]) == "a"


def test_step_that_left_the_catalogue_is_passed_over():
    assert standing([*series("mm", step="b"), *series("mm", step="gone", start=day(1))]) == "b"
    assert standing(series("mm", step="gone")) == "a"
