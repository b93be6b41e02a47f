"""What the value tables promise is what one who plays by them earns."""

import numpy as np
import pytest
from scipy.stats import binom

from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior import learners
from pupilage.core.training.posterior.learners import Family
from pupilage.core.training.worth import moves
from pupilage.core.training.worth.values import FamilyValues, Setting, bound_of

N, DAYS, PRICE, RATE = 6000, 6, 0.03, 0.12
LIVES = (3.0, 5.4, 9.72)
SETTING = Setting((0.0, 0.8, 1.6), (2,), (RATE,), LIVES, n_days=DAYS, prices=(0.0, PRICE))
TIRED = ((0.0, -0.15), (-0.3, -0.45))


class Played:
    """N dogs of one behaviour, played by the tables: the law of learning and forgetting written out once more."""

    def __init__(self, family, start):
        self.values = FamilyValues(SETTING, family, RATE)
        self.family, self.rng = family, np.random.default_rng(4)
        self.state, self.life = np.full(N, start), np.zeros(N, dtype=int)
        self.paid = np.zeros(N)

    def run(self):
        for day in range(DAYS):
            self.day(self.values.day(day), self.rng.choice(learners.FORMS, N, p=learners.FORM_WEIGHTS))
            self.night()
        p = np.array([self.p(np.full(N, 2), form) for form in learners.FORMS])
        return learners.FORM_WEIGHTS @ binom.sf(7, 10, p) - self.paid

    def read(self, table):
        """Return table[state, …, life] at the second price, linear in the state."""
        grid = self.values.course.states
        below = np.clip(np.searchsorted(grid, self.state, side="right") - 1, 0, len(grid) - 2)
        part = (self.state - grid[below]) / (grid[1] - grid[0])
        low, high = table[..., below, 0, 1, self.life], table[..., below + 1, 0, 1, self.life]
        return low * (1.0 - part) + high * part

    def day(self, today, form):
        place, going = np.searchsorted(learners.FORMS, form), np.ones(N, dtype=bool)
        for session in (0, 1):
            for block in (0, 1):
                by_level = self.read(today.session[session, block])[place, :, np.arange(N)]
                if block == 0:
                    going &= by_level.max(1) > self.read(today.evening)
                    self.paid += PRICE * going
                self.block(by_level.argmax(1), form + TIRED[session][block], going)

    def p(self, level, shift):
        if self.family is Family.BY_LEVELS:
            odds = np.where(self.state > level, 0.92 / 0.08, np.where(self.state == level, 0.4 / 0.6, 0.02 / 0.98))
            return np.clip(1.0 / (1.0 + np.exp(-shift) / odds), 0.02, 0.98)
        return 0.02 + 0.96 / (1.0 + np.exp(0.8 * level - shift - self.state))

    def block(self, level, shift, going):
        p = self.p(level, shift)
        k = self.rng.binomial(5, p)
        if self.family is Family.TOWARD_LEVEL:
            gain = (1.0 - (1.0 - RATE) ** k) * np.maximum(0.0, 0.8 * level + 2.2 - self.state) - 0.02 * (5 - k)
        elif self.family is Family.PER_SUCCESS:
            gain = 1.6 * RATE * k * np.exp(-(((p - 0.75) / 0.22) ** 2)) - 0.02 * (5 - k)
        else:
            gain = (self.state == level) & (self.rng.random(N) < 1.0 - (1.0 - 1.3 * RATE) ** 5)
        top = 3 if self.family is Family.BY_LEVELS else 6.5
        self.state = np.where(going, np.clip(self.state + gain, -0.9, top), self.state)
        longer = going & (self.rng.random(N) < 0.06 * k)
        self.life = np.minimum(len(LIVES) - 1, self.life + longer)

    def night(self):
        kept = 2.0 ** (-1.0 / np.array(LIVES)[self.life])
        if self.family is Family.BY_LEVELS:
            self.state = np.maximum(0, self.state - (self.rng.random(N) > kept))
        else:
            self.state = -0.4 + (self.state + 0.4) * kept


@pytest.mark.parametrize(
    ("family", "start"), [(Family.TOWARD_LEVEL, 0.5), (Family.PER_SUCCESS, 0.5), (Family.BY_LEVELS, 0)]
)
def test_value_of_a_morning_is_what_playing_by_the_tables_earns(family, start):
    played = Played(family, start)
    promised = float(played.read(played.values.mornings[0])[0])
    earned = played.run()
    # four standard errors of 6,000 seasons; 0.004 more for the tables' interpolation, a tenth of a logit apart
    assert promised == pytest.approx(earned.mean(), abs=4.0 * earned.std() / np.sqrt(N) + 0.004)
    assert earned.std() / np.sqrt(N) < 0.005


@pytest.mark.parametrize("family", list(Family))
def test_more_days_and_cheaper_sessions_are_never_worth_less(family):
    mornings = FamilyValues(SETTING, family, RATE).mornings
    assert (mornings[:, :, :, 0] >= mornings[:, :, :, 1]).all()
    # without a price there is nothing to lose by training, except what forgetting takes in one day more
    assert mornings[0, 0, 0, 0, 0] > mornings[DAYS - 2, 0, 0, 0, 0]


@pytest.mark.parametrize("family", list(Family))
def test_rows_of_every_move_add_up_to_one(family):
    course = SETTING.course(family, RATE)
    assert moves.block_moves(course, 0.6, -0.15).both.sum(-1) == pytest.approx(1.0, abs=1e-5)
    assert moves.night_moves(course).sum(-1) == pytest.approx(1.0, abs=1e-5)


def test_spreading_on_the_grid_keeps_the_mean():
    grid, points = np.linspace(-1.0, 3.0, 41), np.array([[-0.97, 0.333, 2.9999]])
    spread = moves.onto_grid(grid, points, np.array([[0.2, 0.5, 0.3]]))
    assert (spread @ grid)[0] == pytest.approx((points @ [0.2, 0.5, 0.3])[0], rel=1e-12)


def test_no_scarcity_costs_nothing_and_no_sessions_leave_the_highest_price():
    values, prices = np.array([[2.0, 1.0, 0.5]]), np.array([0.0, 0.1, 0.5])
    assert bound_of(values, prices, np.array([1000.0])) == [2.0]
    assert bound_of(values, prices, np.array([0.0])) == [0.5]


def test_goal_beyond_the_list_is_refused():
    with pytest.raises(InvalidInput, match="no places in a list of 3 steps"):
        Setting((0.0, 0.8, 1.6), (3,), (RATE,), LIVES)
    with pytest.raises(InvalidInput, match="-1 days cannot be left"):
        Setting((0.0, 0.8, 1.6), (2,), (RATE,), LIVES, n_days=-1)
