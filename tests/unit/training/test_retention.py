"""What is left after a gap, when a behaviour is due, and a fall named as forgetting."""

from datetime import UTC, timedelta

import pytest
from scipy import integrate, stats

from engine_cases import START, daily_trials, day, series
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.retention import (
    LEAST_KEPT,
    cold_and_warm,
    cold_reading,
    compare_first_tries,
    days_until_due,
    forecast_without_practice,
    name_the_fall,
)
from pupilage.core.training.posterior.state import fold_dog

BEHAVIOURS = load_bundled().behaviours
SIT = BEHAVIOURS["sit"]


def trained(letters="m" * 10, *, days=6, step=1):
    trials = [trial for day in range(days) for trial in daily_trials(SIT, letters, step=step, day=day)]
    return fold_dog(BEHAVIOURS, trials), START + timedelta(days=days - 1, hours=2)


def test_chance_falls_day_by_day_and_the_interval_holds_it():
    state, now = trained()
    found = forecast_without_practice(state, SIT.key, 1, now=now)
    assert list(found.p) == sorted(found.p, reverse=True)
    assert all(low <= p <= high for low, p, high in zip(found.low, found.p, found.high, strict=True))


def test_well_known_behaviour_is_due_later_than_a_fresh_one_but_never_after_its_interval():
    well, fresh = trained(days=10), trained("mmmmm", days=2, step=2)
    due_well = days_until_due(well[0], SIT, 1, now=well[1])
    assert due_well >= days_until_due(fresh[0], SIT, 2, now=fresh[1])
    assert due_well <= SIT.maintain_every_days


def test_day_after_the_due_day_would_be_too_late():
    state, now = trained()
    due = days_until_due(state, SIT, 1, now=now)
    if due < SIT.maintain_every_days:
        late = cold_reading(state, SIT.key, 1, now=now + timedelta(days=due + 1))
        assert late.mean < LEAST_KEPT


def test_behaviour_never_trained_is_due_today():
    state = fold_dog(BEHAVIOURS, [])
    assert days_until_due(state, SIT, 0, now=START) == 0
    assert name_the_fall(state, SIT.key, 0, now=START) is None


def test_fall_after_a_gap_is_named_as_forgetting():
    state, now = trained()
    assert name_the_fall(state, SIT.key, 1, now=now + timedelta(days=1)) is None
    said = str(name_the_fall(state, SIT.key, 1, now=now + timedelta(days=21)))
    assert said.startswith("21 days without practice")
    assert "forgetting" in said


def test_year_without_practice_is_a_clear_figure():
    state, now = trained()
    found = forecast_without_practice(state, SIT.key, 1, now=now, days=(365,))
    assert 0.0 < found.p[0] < 0.75


@pytest.mark.parametrize(
    ("cold", "warm"), [((5, 10), (5, 10)), ((2, 10), (9, 10)), ((9, 10), (2, 10)), ((6, 9), (30, 40))]
)
def test_cold_trials_are_compared_with_warm_ones_as_by_adaptive_quadrature(cold, warm):
    # SciPy's integrate.quad of the cold density times the warm upper tail; 2,000 points are good to 0.001.
    density = stats.beta(0.5 + cold[0], 0.5 + cold[1] - cold[0])
    above = stats.beta(0.5 + warm[0], 0.5 + warm[1] - warm[0])
    expected, _ = integrate.quad(lambda p: density.pdf(p) * above.sf(p), 0.0, 1.0)
    assert cold_and_warm(*cold, *warm) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize("days", [(-1,), (366,)])
def test_days_that_cannot_be_are_refused(days):
    state, now = trained()
    with pytest.raises(InvalidInput, match="days"):
        forecast_without_practice(state, SIT.key, 1, now=now, days=days)


def test_step_that_is_not_there_is_refused():
    state, now = trained()
    with pytest.raises(InvalidInput, match="no place"):
        cold_reading(state, SIT.key, 99, now=now)


def test_first_tries_of_a_day_are_told_apart_from_later_ones_at_the_same_steps():
    days = [trial for n in range(6) for trial in series("xmmm", start=day(n), session=f"s{n}")]
    elsewhere = series("mmmm", step="b", start=day(5) + timedelta(hours=1), session="s9")
    found = compare_first_tries([*days, *elsewhere], UTC)
    assert (found.n_met_cold, found.n_cold, found.n_met_warm, found.n_warm) == (0, 6, 18, 18)
    assert found.p_weaker > 0.99
    assert compare_first_tries(days[:16], UTC) is None


def test_void_tries_are_no_first_tries():
    days = [trial for n in range(5) for trial in series("vmx", start=day(n), session=f"s{n}")]
    found = compare_first_tries(days, UTC)
    assert (found.n_met_cold, found.n_cold, found.n_met_warm, found.n_warm) == (5, 5, 0, 5)
