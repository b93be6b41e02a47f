"""The chance of a goal at hand-over, from the grid: it follows work, time and record, and keeps its promise."""

from datetime import timedelta
from math import comb

import numpy as np
import pytest

from engine_cases import LETTERS, START
from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.errors import InvalidInput
from pupilage.core.training.outlook.chances import look_ahead
from pupilage.core.training.outlook.course import (
    N_DOGS,
    Sessions,
    chance_of_test,
    chance_table,
    draw_dogs,
    spread_sessions,
)
from pupilage.core.training.posterior import grid as grids
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.difficulty import Ladder
from pupilage.core.training.posterior.grid import Block
from pupilage.core.training.posterior.learners import FORM_WEIGHTS
from pupilage.core.training.posterior.prior import shipped_prior
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.posterior.state import Now, at_moment, fold_dog
from pupilage.core.training.record.evidence import SessionKind, Trial

BEHAVIOURS = load_bundled().behaviours
SIT = BEHAVIOURS["sit"]
NOW = START + timedelta(days=10)


def standing(letters="", *, step=0, days=4):
    """Return the grid after the same session of these letters on each of the last days."""
    trials = [
        Trial(
            f"{day}-{i}",
            f"s{day}",
            NOW - timedelta(days=day, seconds=-9 * i),
            SIT.key,
            SIT.steps[step].key,
            LETTERS[letter],
            SessionKind.TRAINING,
        )
        for day in range(days, 0, -1)
        for i, letter in enumerate(letters)
    ]
    return at_moment(fold_dog(BEHAVIOURS, trials), SIT.key, now=NOW)


def told(now, *, step=0, target=4, per_day=(1,) * 10):
    return look_ahead(now, step=step, target=target, sessions=Sessions(per_day))


def test_more_work_helps_and_none_leaves_the_least():
    found = told(standing("mmxmmmxmmm"))
    assert found.without_work < found.planned < found.one_more_a_day
    assert found.low <= found.planned <= found.high


def test_better_record_makes_a_better_outlook():
    chances = [told(standing(letters)).planned for letters in ("xxxxxmxxxx", "mxmxmxmxmx", "mmmmmmmmmm")]
    assert chances == sorted(chances)


def test_harder_goal_is_less_likely():
    now = standing("mmmmmmmm")
    chances = [told(now, target=target).planned for target in range(len(SIT.steps))]
    assert chances[0] > chances[4] > chances[-1]


def test_without_a_day_left_it_is_the_chance_of_the_test_as_things_stand():
    now = standing("mmmmmmmm", step=2)
    reading = read_step(now, 2, tired=0.0)
    found = told(now, step=2, target=2, per_day=())
    # 512 strata of the posterior stand for all of it: their error is far below 0.01 here.
    assert found.planned == pytest.approx(reading.chance_of_at_least(8, 10), abs=0.01)
    assert found.planned == found.without_work == found.one_more_a_day


def test_ceiling_is_what_ten_coin_tosses_allow():
    expected = sum(comb(10, k) * 0.9**k * 0.1 ** (10 - k) for k in (8, 9, 10))
    assert told(standing()).ceiling == pytest.approx(expected)
    p = np.linspace(0, 1, 11)
    by_hand = sum(comb(10, k) * p**k * (1 - p) ** (10 - k) for k in (8, 9, 10))
    assert chance_of_test(p) == pytest.approx(by_hand)


def test_same_record_gives_the_same_figures():
    assert told(standing("mmxm")) == told(standing("mmxm"))


def test_skill_fades_over_idle_days_whatever_the_kind_of_dog():
    now = standing("mmmmmmmmmm", step=2)
    chances = [told(now, step=2, target=2, per_day=(0,) * days).planned for days in (0, 3, 14, 365)]
    assert chances == sorted(chances, reverse=True)
    assert chances[-1] < 0.3


def test_dogs_drawn_stand_for_the_posterior():
    now = standing("mmxmmmxm")
    dogs = draw_dogs(now, 0)
    assert len(dogs.skill) + len(dogs.mastered) == N_DOGS
    weight, _ = now.joint
    share_with_skill = weight.sum()
    assert dogs.n_skill / N_DOGS == pytest.approx(share_with_skill, abs=1.5 / N_DOGS)
    mean = float((weight.sum(0) * now.grid.skill).sum() / share_with_skill)
    assert dogs.skill.mean() == pytest.approx(mean, abs=0.03)


def test_table_of_chances_is_even_in_every_row():
    table = chance_table()
    assert np.all(np.sort(table, axis=-1) == np.sort(table[0, 0]))
    assert abs(np.corrcoef(table[0, 0], table[1, 0])[0, 1]) < 0.15


@pytest.mark.parametrize(("n", "days"), [(0, 5), (5, 5), (7, 3), (3, 10), (2, 0)])
def test_sessions_are_spread_over_the_days(n, days):
    sessions = spread_sessions(n, days)
    assert sessions.n_days == days
    assert sessions.n == (n if days else 0)
    assert not sessions.per_day or max(sessions.per_day) - min(sessions.per_day) <= 1


@pytest.mark.parametrize("bad", [{"step": -1}, {"target": 99}, {"per_day": (1, -1)}])
def test_places_and_sessions_that_cannot_be_are_refused(bad):
    with pytest.raises(InvalidInput):
        told(standing(), **bad)


# Calibration: dogs of the three families, drawn from the shipped prior's middle, taught by sets of five.


def simulated(seed, day_of_forecast, *, n_days=21):
    """Return (forecast on a day, the dog's true chance of the test at the end) for one invented dog."""
    rng = np.random.default_rng(seed)
    family = seed % 3
    rate = 0.07 * np.exp(0.6 * rng.standard_normal())
    skill, mastered, half_life = 0.3 + 0.7 * rng.standard_normal(), 0, 5.0 * (1.8 if rng.random() < 0.3 else 1.0)
    spacing, goal = (0.6, 0.8, 1.0)[seed // 3 % 3], (3, 5)[seed // 9 % 2]
    ladder = Ladder(tuple("abcdef"), spacing * np.arange(6.0), np.zeros(6))
    prior = shipped_prior()
    grid, log_models = grids.fresh_grid(prior, 6), np.log(prior.models)
    step, forecast = 0, None

    def chance(level, form, tired=0.0):
        if family == 2:
            return float(learners.p_met_by_levels(6, level, form=form, tired=tired)[mastered])
        return float(learners.p_met(skill, spacing * level, form=form, tired=tired))

    for day in range(n_days):
        if day == day_of_forecast:
            models = np.exp(log_models - log_models.max())
            forms = np.repeat(FORM_WEIGHTS[:, None], 6, axis=1)
            now = Now(grid.copy(), ladder, models / models.sum(), forms, 0.0)
            plan = Sessions((1,) * (n_days - day))
            forecast = look_ahead(now, step=step, target=goal, sessions=plan).planned
        form = rng.choice([-0.6, 0.0, 0.6], p=FORM_WEIGHTS)
        for block in range(2):
            tired = learners.tiredness(block, 0, 0)
            k = int(rng.binomial(5, chance(step, form, tired)))
            happened = Block(step, spacing * step, tired, "m" * k + "x" * (5 - k))
            grids.observe(grid, happened)
            grids.teach(grid, happened)
            if family == 0:
                skill = float(learners.learn_toward_level(skill, rate, spacing * step, 5, k))
            elif family == 1:
                skill = float(learners.learn_per_success(skill, rate, spacing * step, 5, k))
            elif mastered == step and rng.random() < learners.p_step_up(rate, 5):
                mastered += 1
            half_life *= 1.8 if rng.random() < 0.06 * k else 1.0
            step = min(5, max(0, step + (k >= 4) - (k <= 2)))
        evidence = np.log(FORM_WEIGHTS)[:, None] + grid.log_evidence
        forms = np.exp(evidence - evidence.max(0))
        log_models = log_models + evidence.max(0) + np.log(forms.sum(0))
        grids.end_day(grid, forms / forms.sum(0))
        grids.rest(grid, 1)
        keep = 2.0 ** (-1.0 / half_life)
        skill = learners.BASE + (skill - learners.BASE) * keep
        mastered -= int(mastered > 0 and rng.random() > keep)
    test = FORM_WEIGHTS @ chance_of_test(np.array([chance(goal, form) for form in learners.FORMS]))
    return forecast, float(test)


@pytest.mark.parametrize("day", [5, 10, 15])
def test_forecasts_of_unseen_dogs_come_true_as_often_as_they_say(day):
    pairs = np.array([simulated(seed, day) for seed in range(270)])
    forecast, true = pairs.T
    # Mean over 270 dogs whose true chances spread by about 0.4: standard error 0.025; allowed is three of them.
    assert forecast.mean() == pytest.approx(true.mean(), abs=0.075)
    brier = np.mean((forecast - true) ** 2 + true * (1 - true))
    of_no_forecast = true.mean() * (1 - true.mean())
    assert 1 - brier / of_no_forecast > {5: 0.2, 10: 0.35, 15: 0.45}[day]
