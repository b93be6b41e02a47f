"""The grid posterior of a dog: any split of the record gives the same state, and evidence moves it the right way."""

import itertools
import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.difficulty import difficulty, ladder_of
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, FORMS
from pupilage.core.training.posterior.prior import make_prior, shipped_prior
from pupilage.core.training.posterior.reading import after_more, read_step
from pupilage.core.training.posterior.state import at_moment, fold, fold_dog, fresh_state
from pupilage.core.training.record.evidence import Hold, Outcome, SessionKind, Trial

BEHAVIOURS = load_bundled().behaviours
SIT, MAT = BEHAVIOURS["sit"], BEHAVIOURS["settle-on-mat"]
NOW = datetime(2026, 5, 12, 18, 0, tzinfo=UTC)
WORDS = {"m": Outcome.MET, "x": Outcome.MISSED, "h": Outcome.HELPED, "v": Outcome.VOID}


def series(letters, *, behaviour=SIT, step=0, days_ago=1.0, kind=SessionKind.TRAINING):
    """Return trials eight seconds apart, one session."""
    begin = NOW - timedelta(days=days_ago)
    key = behaviour.steps[step].key
    return [
        Trial(
            f"{behaviour.key} {begin} {n}",
            f"session {behaviour.key} {begin}",
            begin + timedelta(seconds=8 * n),
            behaviour.key,
            key,
            WORDS[letter],
            kind,
        )
        for n, letter in enumerate(letters)
    ]


def chance(trials, *, behaviour=SIT, step=0, now=NOW):
    state = fold_dog(BEHAVIOURS, trials)
    return read_step(at_moment(state, behaviour.key, now=now), step)


def test_dog_without_a_record_is_read_from_the_prior():
    reading = chance([])
    low, high = reading.interval()
    assert 0.3 < reading.mean < 0.8
    assert high - low > 0.5
    assert reading.mass.sum() == pytest.approx(1.0)


@given(letters=st.text("mxh", min_size=1, max_size=14))
def test_one_more_met_trial_never_lowers_the_chance(letters):
    # An early miss turned met may lower it: the rise is then less steep, and the dog a slower learner.
    assert chance(series(letters + "m")).mean >= chance(series(letters)).mean - 1e-12


def test_harder_steps_are_met_less():
    state = fold_dog(BEHAVIOURS, series("mmxmmmxm"))
    now = at_moment(state, SIT.key, now=NOW)
    means = [read_step(now, step).mean for step in range(len(SIT.steps))]
    order = np.argsort(ladder_of(SIT).delta, kind="stable")
    assert np.all(np.diff(np.array(means)[order]) <= 1e-9)


@given(
    letters=st.text("mxhv", min_size=1, max_size=12),
    gap=st.floats(0.01, 3.0),
    cuts=st.lists(st.integers(0, 24), max_size=3),
)
def test_any_split_of_the_record_gives_the_same_state(letters, gap, cuts):
    trials = [*series(letters, days_ago=3.5), *series(letters[::-1], days_ago=3.5 - gap), *series("mx", days_ago=0.3)]
    whole = fold_dog(BEHAVIOURS, trials)
    split = fresh_state(BEHAVIOURS.values())
    edges = [0, *sorted(min(cut, len(trials)) for cut in cuts), len(trials)]
    for first, last in itertools.pairwise(edges):
        split = fold(split, trials[first:last])
    for state in (whole, split):
        assert state.n_trials == whole.n_trials
    ours, theirs = (read_step(at_moment(state, SIT.key, now=NOW), 0) for state in (whole, split))
    assert ours.mean == pytest.approx(theirs.mean, rel=1e-12)
    assert ours.mass == pytest.approx(theirs.mass, abs=1e-12)


def test_order_in_which_a_record_is_given_does_not_matter():
    trials = [*series("mxm"), *series("mmm", behaviour=MAT, days_ago=0.9)]
    assert chance(trials).mean == chance(trials[::-1]).mean


def test_folding_leaves_the_state_it_began_with():
    state = fold_dog(BEHAVIOURS, series("mmm"))
    before = read_step(at_moment(state, SIT.key, now=NOW), 0).mean
    fold(state, series("xxxxxxx", days_ago=0.2))
    assert read_step(at_moment(state, SIT.key, now=NOW), 0).mean == before


def test_posterior_of_one_day_is_the_sum_over_cells_forms_and_models():
    # An independent sum: prior over (skill, rate, half-life), three forms, p^met (1-p)^missed, no learning before
    # the first block is read. The families that have a skill give the same likelihood; the third has its own.
    prior = make_prior("check")
    grid = grids.fresh_grid(prior, len(SIT.steps))
    grids.observe(grid, grids.Block(0, 0.0, taught="mxmmx"))
    total = 0.0
    for skill, weight in zip(prior.skills, prior.skill_weights, strict=True):
        for form, share in zip(FORMS, FORM_WEIGHTS, strict=True):
            bounded = max(prior.base - 0.5, min(6.5, skill))
            p = 0.02 + 0.96 / (1.0 + math.exp(-(bounded + form)))
            total += share * weight * p**3 * (1 - p) ** 2
    evidence = FORM_WEIGHTS @ np.exp(grid.log_evidence[:, 0])
    assert evidence == pytest.approx(total, rel=1e-10)


def test_probe_is_evidence_and_teaches_nothing():
    probed, taught = chance(series("mmmm", kind=SessionKind.PROBE)), chance(series("mmmm"))
    assert chance([]).mean < probed.mean < taught.mean


def test_helped_trial_says_less_than_a_miss_and_less_good_than_a_met_one():
    assert chance(series("xxx")).mean < chance(series("hhh")).mean < chance(series("mmm")).mean


def test_long_gap_is_forgotten_and_a_year_breaks_nothing():
    trials = series("m" * 20, days_ago=1.0)
    means = [chance(trials, now=NOW + timedelta(days=days)).mean for days in (0, 7, 30, 365)]
    assert means == sorted(means, reverse=True)
    assert means[-1] < means[0]


def test_thousand_trials_in_one_session_give_a_clear_state():
    reading = chance(series("mmmx" * 250, days_ago=0.5))
    low, high = reading.interval()
    assert 0.0 < low < reading.mean < high < 1.0


def test_all_missed_is_a_low_chance_and_no_zero():
    reading = chance(series("x" * 15))
    assert 0.0 < reading.mean < chance([]).mean


def test_step_that_left_the_catalogue_is_passed_over():
    gone = [Trial("1", "s", NOW - timedelta(days=1), "sit", "no-such-step", Outcome.MET, SessionKind.TRAINING)]
    assert chance(gone).mean == chance([]).mean


def test_figures_that_cannot_be_are_refused():
    broken = [
        Trial("1", "s", NOW, "sit", SIT.steps[0].key, Outcome.MET, SessionKind.TRAINING, latency_s=math.nan),
    ]
    with pytest.raises(InvalidInput):
        fold_dog(BEHAVIOURS, broken)


def test_trial_older_than_the_newest_one_folded_asks_for_the_whole_log():
    state = fold_dog(BEHAVIOURS, series("mm", days_ago=1.0))
    with pytest.raises(InvalidInput, match="fold the whole log again"):
        fold(state, series("m", days_ago=2.0))


def test_longer_hold_that_was_kept_says_more_than_a_short_one():
    def held(seconds, *, broke):
        at = NOW - timedelta(days=1)
        outcome = Outcome.MISSED if broke else Outcome.MET
        hold = Hold(seconds, 10.0 if broke else seconds, broke)
        key = MAT.steps[3].key
        return Trial(f"{seconds}", "s", at, MAT.key, key, outcome, SessionKind.TRAINING, hold=hold)

    means = [
        chance([trial], behaviour=MAT, step=4).mean
        for trial in (held(1.0, broke=True), held(2.0, broke=False), held(20.0, broke=False))
    ]
    assert means == sorted(means)


def test_more_trials_are_expected_to_narrow_the_interval():
    reading = chance(series("mmx"))
    more = after_more(reading, 5)
    assert more.width_expected < more.width_now
    assert more.bits > 0
    assert after_more(reading, 10).width_expected < more.width_expected


def test_difficulty_grows_with_everything_that_is_asked_for():
    for behaviour in BEHAVIOURS.values():
        ladder = ladder_of(behaviour)
        assert ladder.delta[0] == 0.0
        assert ladder.delta.max() <= 4.2 + 1e-9
        assert all(difficulty(step.criterion) >= 0.0 for step in behaviour.steps)


def test_shipped_prior_says_that_it_is_simulated_and_adds_up():
    prior = shipped_prior()
    assert prior.name == "simulated"
    assert prior.models.sum() == pytest.approx(1.0)
    assert prior.rate_weights.sum() == pytest.approx(1.0)


def test_prior_whose_weights_do_not_add_up_is_refused():
    with pytest.raises(InvalidInput, match="adding up to 1"):
        make_prior("bad", models=np.array([0.5, 0.5, 0.5, 0.0, 0.0, 0.0]))


def test_laws_of_forgetting_leave_a_half_after_the_half_life():
    for law in learners.Forgetting:
        assert learners.retained(5.0, 5.0, law) == pytest.approx(0.5)
