"""Invented stays to plan: whole problems, the same for the same seed."""

import pytest

from pupilage.core.catalogue.loading import load_bundled
from pupilage.core.planning.programme.tasks import require_problem
from pupilage.core.simulation.plan_problems import draw_problem


@pytest.mark.parametrize(("n_days", "n_goals"), [(7, 4), (14, 12)])
def test_drawn_problem_is_sound_and_of_its_size(n_days: int, n_goals: int) -> None:
    for seed in range(3):
        problem = draw_problem(load_bundled(), n_days=n_days, n_goals=n_goals, sessions_a_day=4, seed=seed)
        require_problem(problem)
        assert (problem.n_days, len(problem.tasks)) == (n_days, n_goals)
        assert problem.room[-1] == 4


def test_same_seed_draws_the_same_problem() -> None:
    drawn = [draw_problem(load_bundled(), n_days=7, n_goals=5, sessions_a_day=4, seed=seed) for seed in (3, 3, 4)]
    assert drawn[0] == drawn[1] != drawn[2]
