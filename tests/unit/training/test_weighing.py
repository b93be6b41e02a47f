"""Skill and the factors of the dimensions together: against brute force, against the engine, and on bad records."""

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from scipy.special import ndtri

from engine_cases import MAT, START, daily_trials, day, hold_trials, known_of, ladder, series
from pupilage.core.catalogue.behaviour import Place
from pupilage.core.errors import InvalidInput
from pupilage.core.training.posterior.difficulty import duration_logits
from pupilage.core.training.posterior.knowledge import know
from pupilage.core.training.posterior.learners import FORM_WEIGHTS, FORMS, bound, p_met
from pupilage.core.training.posterior.prior import make_prior
from pupilage.core.training.posterior.reading import read_step
from pupilage.core.training.record.evidence import SessionKind
from pupilage.core.training.thresholds import weighing
from pupilage.core.training.thresholds.chances import read_criterion
from pupilage.core.training.thresholds.points import even_normals
from pupilage.core.training.thresholds.rounds import rounds_of
from pupilage.core.training.thresholds.ruler import with_value
from pupilage.core.training.thresholds.weighing import WEIGHED, WEIGHT_SD, weigh

STAY = ladder(0.0, 2.0, 5.0, 15.0, 40.0)
SKILL_ONLY = make_prior("skill", models=np.array([0.25, 0.25, 0.25, 0.25, 0.0, 0.0]))
RECORD = {1: "mmmmmmmm" * 3, 2: "mmmxmmmm" * 3, 3: "mmxmxxmm" * 3, 4: "xxmxxxxx" * 3}
"""24 cold probes at every step but the first, on one day: nothing is learned and nothing forgotten."""


def probes() -> list:
    return [
        trial
        for step, letters in RECORD.items()
        for trial in series(
            letters,
            step=STAY.steps[step].key,
            session="s",
            start=START + timedelta(minutes=5 * step),
            kind=SessionKind.PROBE,
        )
    ]


def brute_force() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return skill, log factor of duration and posterior on a fine grid, the form of the day summed out."""
    known = rounds_of({STAY.key: STAY}, STAY.key, probes(), SKILL_ONLY_KNOWN.state.zone)
    log_factor = np.linspace(-4.0, 4.0, 321) * WEIGHT_SD
    prior = np.exp(-0.5 * (log_factor / WEIGHT_SD) ** 2)
    skills = bound(SKILL_ONLY.skills, SKILL_ONLY.base)
    weight = SKILL_ONLY.skill_weights[:, None, None] * prior[None, :, None] * FORM_WEIGHTS
    for one in known:
        delta = np.exp(log_factor)[None, :, None] * duration_logits(one.duration_s) + 0.15 * one.step
        p = p_met(skills[:, None, None], delta, form=FORMS, tired=one.tired)
        weight = weight * p ** one.probed.count("m") * (1.0 - p) ** one.probed.count("x")
    return skills, log_factor, weight / weight.sum()


SKILL_ONLY_KNOWN = know({STAY.key: STAY}, probes(), prior=SKILL_ONLY)


def test_posterior_is_that_of_a_fine_grid() -> None:
    """72 points stand for 321: mean and sd within a twentieth of the sd, chances within half a per cent."""
    weighed = weigh(SKILL_ONLY_KNOWN, STAY, now=START + timedelta(hours=1))
    skills, log_factor, exact = brute_force()
    by_point = np.bincount(weighed.point, weighed.weight, len(weighed.mass))
    found = np.log(weighed.factors[:, 0])
    mean = float(found @ by_point)
    by_factor = exact.sum((0, 2))
    exact_mean = float(log_factor @ by_factor)
    exact_sd = float(np.sqrt((log_factor - exact_mean) ** 2 @ by_factor))
    assert mean == pytest.approx(exact_mean, abs=0.05 * exact_sd)
    assert np.sqrt((found - mean) ** 2 @ by_point) == pytest.approx(exact_sd, rel=0.05)
    assert exact_sd < 0.8 * WEIGHT_SD
    for step, duration_s in ((2, 5.0), (3, 15.0), (3, 25.0), (4, 40.0)):
        delta = np.exp(log_factor)[None, :, None] * duration_logits(duration_s) + 0.15 * step
        chance = float((exact * p_met(skills[:, None, None], delta, form=FORMS)).sum())
        criterion = replace(STAY.steps[step].criterion, duration_s=duration_s)
        assert read_criterion(weighed, criterion, step).mean == pytest.approx(chance, abs=0.005)


def taught(n_days: int = 12) -> list:
    letters = ("mmmmxmmm", "mmmmmmmm", "mxmmmxmm", "mmxmmmmm")
    return [t for n in range(n_days) for t in daily_trials(STAY, letters[n % 4], step=min(4, n // 3), day=n)]


def test_without_freedom_of_the_factors_it_is_the_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    """The grid here is thinner (5 rates, 3 half-lives): chances agree within half a per cent."""
    monkeypatch.setattr(weighing, "WEIGHT_SD", 1e-9)
    known = known_of(taught(), STAY)
    weighed = weigh(known, STAY, now=day(13))
    for i, step in enumerate(STAY.steps):
        engine = read_step(known.at(STAY.key, day(13)), i, tired=0.0)
        assert read_criterion(weighed, step.criterion, i).mean == pytest.approx(engine.mean, abs=0.005)


def test_holds_are_read_as_the_engine_reads_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(weighing, "WEIGHT_SD", 1e-9)
    holds = ((20.0, 20.0, False), (6.0, 30.0, True), (30.0, 30.0, False), (25.0, 30.0, True), (8.0, 30.0, False))
    known = known_of(hold_trials(*holds), MAT)
    now = START + timedelta(hours=1)
    weighed = weigh(known, MAT, now=now)
    for i, step in enumerate(MAT.steps):
        engine = read_step(known.at(MAT.key, now), i, tired=0.0)
        assert read_criterion(weighed, step.criterion, i).mean == pytest.approx(engine.mean, abs=0.005)


def test_dog_that_breaks_when_it_lasts_takes_duration_harder_than_one_that_does_not() -> None:
    def factor(letters: str) -> float:
        trials = [t for n in range(9) for t in daily_trials(STAY, ("mmmmmmmm", letters)[n % 2], step=n % 2 * 4, day=n)]
        weighed = weigh(know({STAY.key: STAY}, trials, prior=SKILL_ONLY), STAY, now=day(10))
        return float(np.log(weighed.factors[:, 0]) @ np.bincount(weighed.point, weighed.weight, len(weighed.mass)))

    assert factor("xxxxxxxx") > 0.2
    assert factor("mmmmmmmm") < -0.1


def test_dimension_that_was_never_varied_keeps_its_prior() -> None:
    weighed = weigh(known_of(taught(), STAY), STAY, now=day(13))
    by_point = np.bincount(weighed.point, weighed.weight, len(weighed.mass)) + weighed.mass * weighed.mastery.sum()
    for dimension in WEIGHED[1:]:
        logs = np.log(weighed.factors[:, WEIGHED.index(dimension)])
        assert logs @ by_point == pytest.approx(0.0, abs=0.02)
        assert np.sqrt(logs**2 @ by_point) == pytest.approx(WEIGHT_SD, rel=0.08)


def test_more_of_any_dimension_is_never_met_more_often() -> None:
    weighed = weigh(known_of(taught(), STAY), STAY, now=day(13))
    here = STAY.steps[2].criterion
    for dimension, values in zip(
        WEIGHED, ((0, 1, 5, 30, 300), (0, 1, 4, 20), range(6), range(len(Place))), strict=True
    ):
        means = [read_criterion(weighed, with_value(here, dimension, float(v)), 2).mean for v in values]
        assert means == sorted(means, reverse=True)


@pytest.mark.parametrize(
    "trials",
    [
        [],
        series("m"),
        series("x" * 40),
        series("m" * 1000),
        taught(4) + daily_trials(STAY, "mmxm", step=2, day=400),
        [replace(t, step="gone") for t in series("mmmm", session="old", start=day(-3))] + series("mmx"),
        series("vvvv"),
        series("hhhh"),
    ],
    ids=["none", "one", "all missed", "a thousand", "a year's gap", "deleted step", "void", "helped"],
)
def test_any_record_gives_weights_that_add_up(trials: list) -> None:
    weighed = weigh(known_of(trials, STAY), STAY, now=day(420))
    total = weighed.weight.sum() + weighed.mastery.sum()
    assert total == pytest.approx(1.0, abs=1e-3)
    assert np.isfinite(weighed.ability).all()
    assert all(0.0 < read_criterion(weighed, s.criterion, i).mean < 1.0 for i, s in enumerate(STAY.steps))


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), -1.0])
def test_criterion_that_is_no_figure_is_refused(wrong: float) -> None:
    weighed = weigh(known_of(series("mmmm"), STAY), STAY, now=day(1))
    for name in ("duration_s", "distance_m"):
        with pytest.raises(InvalidInput, match=name):
            read_criterion(weighed, replace(STAY.steps[1].criterion, **{name: wrong}), 1)


def test_record_in_another_order_gives_the_same_belief() -> None:
    trials = taught(6)
    one, other = (weigh(known_of(given, STAY), STAY, now=day(7)) for given in (trials, trials[::-1]))
    assert np.array_equal(one.weight, other.weight)
    assert np.array_equal(one.mastery, other.mastery)


@pytest.mark.parametrize("d", [1, 2, 4])
def test_even_points_have_the_moments_of_a_normal_law(d: int) -> None:
    z = even_normals(48, d)
    assert z.mean(0) == pytest.approx(np.zeros(d), abs=1e-12)
    assert z.T @ z / 48 == pytest.approx(np.eye(d), abs=1e-12)
    below = np.array([(z < ndtri(q)).mean(0) for q in (0.05, 0.25, 0.5, 0.75, 0.95)])
    assert below == pytest.approx(np.tile([[0.05], [0.25], [0.5], [0.75], [0.95]], d), abs=0.05)
