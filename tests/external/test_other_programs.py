"""The engine beside other programs, which run in an environment of their own: scripts/set_up_checks makes it.

Where it is missing these tests are skipped, with the reason; .ci/run makes it and sets PUPILAGE_CHECKS=required, and
then they fail instead.
"""

from pathlib import Path

import pytest

from pupilage.cli.checks_environment import ask
from pupilage.cli.commands.bench_sampler import fine_prior, made_up_record, prior_in_use, read, sample
from traced_mastery import ANSWERS, traced

BESIDE = Path(__file__).resolve().parent.parent / "beside"


@pytest.mark.usefixtures("other_programs")
def test_knowledge_tracing_predicts_as_pybkt_does_now():
    # The installed pyBKT, to ten digits; its printed figures are in test_learning_laws.py.
    told = ask(BESIDE / "pybkt_predictions.py", ANSWERS)
    for forget, theirs in told.items():
        chances, known = traced(float(forget))
        assert chances == pytest.approx(theirs["chances"], abs=1e-10)
        assert known == pytest.approx(theirs["known"], abs=1e-10)


@pytest.mark.usefixtures("other_programs")
def test_grid_has_the_means_of_a_sampler():
    # NumPyro, NUTS, one chain; the equations are written there once more. 200 trials in 20 days, days' forms summed
    # over. By four Monte-Carlo errors for each of four means (all within: 0.9997 if the error is normal).
    trials, blocks = made_up_record()
    sampled = sample(blocks, n_warmup=500, n_draws=2000, n_runs=1)["found"]
    ours = read(trials, fine_prior())
    assert set(sampled) == set(ours.mean)
    for name, one in sampled.items():
        assert ours.mean[name] == pytest.approx(one["mean"], abs=4.0 * one["error"]), name
        assert ours.sd[name] == pytest.approx(one["sd"], rel=0.15), name


def test_points_in_use_are_near_enough_to_finer_ones():
    trials, _ = made_up_record()
    fine, used = read(trials, fine_prior(41, 31, 21)), read(trials, prior_in_use())
    for name, mean in fine.mean.items():
        assert used.mean[name] == pytest.approx(mean, abs=0.1 * fine.sd[name]), name
