"""What one more session of a behaviour is worth today."""

from datetime import datetime

import numpy as np
import pytest

from engine_cases import daily_trials, day, known_of, series
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.learners import Family
from pupilage.core.training.worth import moves, session_tables
from pupilage.core.training.worth.session_tables import PRICES, Ranges, Tables, tables_for
from pupilage.core.training.worth.session_values import (
    SessionWorth,
    balancing_price,
    masses,
    ranges_of,
    worth_of_a_session,
)
from pupilage.core.training.worth.values import FamilyValues, Setting

BEHAVIOURS = load_bundled().behaviours
SIT, RECALL = BEHAVIOURS["sit"], BEHAVIOURS["recall"]
RANGES = Ranges(deltas=(0.0, 0.8, 1.7), target=2, rates=(0.04, 0.12), first_life=2.0, base=learners.BASE, n_days=4)


def learnt(behaviour, *sessions):
    """Return what daily sessions, pairs of a step and of letters, let us know."""
    trials = [
        trial
        for n, (step, letters) in enumerate(sessions)
        for trial in daily_trials(behaviour, letters, step=step, day=n)
    ]
    return known_of(trials, behaviour)


def worth(known, behaviour, *, price=0.02, days_left=10, now=None, target=None):
    return worth_of_a_session(
        known,
        behaviour,
        target_step=target or behaviour.target,
        days_left=days_left,
        price=price,
        now=now or day(3),
    )


GOING_WELL = ((0, "mmmmmmmmmm"), (1, "mmmmxmmmmm"), (2, "mmmmmmmmmx"))
HARD_GOING = ((0, "xxmxxxmxmx"), (0, "xmxxxmxxmx"), (0, "mxxxmxxxmx"))


@pytest.mark.parametrize("family", list(Family))
def test_coarse_tables_are_the_planner_s_tables_where_both_see_as_much(family, monkeypatch):
    # With one form of the day there is nothing to see or to average, and on the same grid both must agree.
    for module in (learners, session_tables):
        monkeypatch.setattr(module, "FORMS", np.array([0.0]))
        monkeypatch.setattr(module, "FORM_WEIGHTS", np.array([1.0]))
    monkeypatch.setattr(moves, "N_SKILLS", session_tables.N_SKILLS)
    tables = Tables(RANGES, family)
    setting = Setting(
        RANGES.deltas, (RANGES.target,), RANGES.rates, tuple(RANGES.lives), n_days=4, prices=tuple(PRICES)
    )
    for i, rate in enumerate(RANGES.rates):
        mornings = FamilyValues(setting, family, rate).mornings[:, :, 0]
        assert tables.mornings[:, i] == pytest.approx(mornings, abs=2e-6)  # both are float32


@pytest.mark.parametrize(("family", "most"), [(Family.TOWARD_LEVEL, 0.05), (Family.BY_LEVELS, 0.005)])
def test_drawing_the_day_s_form_anew_for_every_block_changes_little(family, most, monkeypatch):
    blind, seeing = blind_and_seeing(family, monkeypatch)
    assert np.abs(seeing - blind).max() < most


def test_who_sees_the_day_s_form_expects_more_where_a_dog_learns_best_at_three_in_four(monkeypatch):
    blind, seeing = blind_and_seeing(Family.PER_SUCCESS, monkeypatch)
    assert (seeing - blind).max() > 0.1  # docs/science/values.md says what that costs


def blind_and_seeing(family, monkeypatch):
    """Return what our tables, and the planner's, which see a day's form in the morning, promise on the same grid."""
    monkeypatch.setattr(moves, "N_SKILLS", session_tables.N_SKILLS)
    setting = Setting(
        RANGES.deltas, (RANGES.target,), RANGES.rates, tuple(RANGES.lives), n_days=4, prices=tuple(PRICES)
    )
    blind = Tables(RANGES, family).mornings[0, 1]
    return blind, FamilyValues(setting, family, RANGES.rates[1]).mornings[0, :, 0]


@pytest.fixture
def fresh_tables():
    """Tables solved in this test only."""
    tables_for.cache_clear()
    yield
    tables_for.cache_clear()


def test_finer_grid_changes_a_gain_by_less_than_a_hundredth(monkeypatch, fresh_tables):
    coarse = worth(learnt(SIT, *GOING_WELL), SIT).by_step
    monkeypatch.setattr(session_tables, "N_SKILLS", 3 * session_tables.N_SKILLS - 2)
    tables_for.cache_clear()
    fine = worth(learnt(SIT, *GOING_WELL), SIT).by_step
    assert coarse == pytest.approx(fine, abs=0.01)  # 288 made-up records: at most 0.006
    assert coarse.argmax() == fine.argmax()


def test_all_of_the_posterior_is_on_the_tables_and_its_mean_skill_unchanged():
    known = learnt(SIT, *GOING_WELL)
    moment = known.at(SIT.key, day(3))
    ranges = ranges_of(moment, 5, 10)
    spread = masses(moment, ranges)
    assert sum(mass.sum() for mass in spread.values()) == pytest.approx(1.0, rel=1e-12)
    weight = moment.joint[0].sum(0)[:2]
    mean = (weight * moment.grid.skill[:2]).sum()
    by_state = spread[Family.TOWARD_LEVEL].sum((0, 2))
    assert by_state @ ranges.states(Family.TOWARD_LEVEL) == pytest.approx(mean, rel=1e-9)


def test_session_begins_further_up_for_a_pup_that_goes_well_than_for_one_that_does_not():
    assert worth(learnt(SIT, *GOING_WELL), SIT).best > worth(learnt(SIT, *HARD_GOING), SIT).best


def test_session_of_what_is_as_good_as_certain_is_worth_little():
    sure = learnt(SIT, *((2, "mmmmmmmmmm") for _ in range(12)))
    at = day(12)
    goal = SIT.steps[2].key
    assert worth(sure, SIT, now=at, target=goal, days_left=2, price=0.0).gain < 0.05
    open_ = learnt(SIT, (0, "mmmxm"), (1, "mmxmm"), (2, "mxxmm"))
    assert worth(open_, SIT, target=goal, days_left=2, price=0.0).gain > 0.05


def test_second_session_of_the_day_adds_less_than_the_first():
    before = learnt(SIT, *GOING_WELL)
    after = known_of(
        list(before.trials) + series("mmmmm", step=SIT.steps[2].key, session="x", start=day(3), behaviour=SIT.key), SIT
    )
    first, second = worth(before, SIT, now=day(3)), worth(after, SIT, now=day(3, hour=12))
    assert second.gain < first.gain


def test_no_days_left_nothing_to_gain():
    known = learnt(SIT, *GOING_WELL)
    found = worth(known, SIT, days_left=0)
    assert found.by_step.tolist() == [0.0] * len(SIT.steps)
    assert 0.0 < found.by_price[0] < 1.0
    assert (found.by_price == found.by_price[0]).all()


def test_a_stay_longer_than_the_tables_is_valued_as_the_longest():
    known = learnt(SIT, *GOING_WELL)
    assert (worth(known, SIT, days_left=400).by_step == worth(known, SIT, days_left=56).by_step).all()


def test_worth_of_a_behaviour_falls_as_sessions_cost_more():
    by_price = worth(learnt(SIT, *GOING_WELL), SIT).by_price
    assert (np.diff(by_price) < 0.0).all()


def test_price_is_nothing_with_sessions_to_spare_and_highest_with_none():
    known = know(BEHAVIOURS, learnt(SIT, *GOING_WELL).trials)
    worths = [worth(known, one) for one in (SIT, RECALL)]
    assert balancing_price(worths, 1000) == 0.0
    assert balancing_price(worths, 0) == PRICES[-1]
    prices = [balancing_price(worths, n) for n in range(20)]
    assert prices == sorted(prices, reverse=True)
    assert len(set(prices)) > 8  # read between the tables' prices
    assert balancing_price([], 0) == 0.0


def test_price_balances_an_s_shaped_worth_whose_best_number_is_known():
    # V(price) = max over k of 10 sqrt(k) / 100 - price k: at price p, k = (0.05 / p)^2 sessions are asked for.
    k = np.arange(0.0, 400.0, 0.01)
    by_price = (0.1 * np.sqrt(k) - PRICES[:, None] * k).max(1)
    found = balancing_price([SessionWorth(np.zeros(1), by_price)], 4)
    assert found == pytest.approx(0.05 / np.sqrt(4), rel=0.15)  # eight prices


def test_same_record_gives_the_same_worth_whether_tables_are_kept_or_made_anew():
    known = learnt(SIT, *GOING_WELL)
    first = worth(known, SIT).by_step
    worth(known, SIT, days_left=3)
    assert (worth(known, SIT).by_step == first).all()
    tables_for.cache_clear()
    assert (worth(known, SIT).by_step == first).all()


def test_behaviour_never_tried_has_a_worth_from_the_prior():
    found = worth(know(BEHAVIOURS, []), RECALL)
    assert np.isfinite(found.by_step).all()
    assert found.gain > 0.0


def test_everything_wrong_is_told_at_once():
    known = learnt(SIT, *GOING_WELL)
    with pytest.raises(InvalidInput) as caught:
        worth(known, SIT, days_left=-1, price=float("nan"))
    assert "-1 days cannot be left" in str(caught.value)
    assert "nan is no price of a session; give 0 to 0.15." in str(caught.value)
    with pytest.raises(InvalidInput, match="nowhere"):
        worth(known, SIT, target="nowhere")
    with pytest.raises(InvalidInput):
        worth(known, SIT, now=datetime(2031, 5, 7, 9, 0))  # noqa: DTZ001  that is the point
    with pytest.raises(InvalidInput, match="-2 sessions cannot be left"):
        balancing_price([], -2)
