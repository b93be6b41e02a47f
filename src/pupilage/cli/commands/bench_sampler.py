"""`pupilage bench sampler`: the grid against NumPyro, on the same model and data: the same means, in less time."""

import time
from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import click

from pupilage.cli.commands.bench_records import BLOCK, START, after_block, tries
from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.training.posterior.prior import Prior
    from pupilage.core.training.record.evidence import Trial

BEHAVIOUR, N_DAYS = "sit", 20
N_WARMUP, N_DRAWS = 1000, 4000
PRIORS = {"start": (0.25, 0.8), "log_rate": (-2.66, 0.65), "log_half_life": (1.6, 0.6)}
"""Mean and deviation of each unknown's normal law: skill in logits, rate a met trial, half-life in days."""

Row = tuple[str, str, str, str, str]


@dataclass(frozen=True)
class Read:
    """Means and deviations by name, and the CPU seconds of one fold of the whole record."""

    mean: dict[str, float]
    sd: dict[str, float]
    cpu_s: float


@click.command()
@json_option
def sampler(as_json: bool = False) -> None:
    """Compare the grid with a sampler (NumPyro, in .venv-checks) on one behaviour of 200 trials."""
    rows = compare()
    names = ("what", "NumPyro", "the grid on 21 × 17 × 9 points", "on the points in use", "goal")
    if as_json:
        print_json([dict(zip(names, row, strict=True)) for row in rows])
    else:
        print_table(names, rows)


def compare() -> list[Row]:
    """Return what the sampler and both grids say of the same record, and what it cost."""
    trials, blocks = made_up_record()
    sampled, fine, used = sample(blocks), read(trials, fine_prior()), read(trials, prior_in_use())
    rows = [
        (
            f"mean of {name}",
            f"{one['mean']:.4f} ± {one['error']:.4f}",
            f"{fine.mean[name]:.4f} ({(fine.mean[name] - one['mean']) / one['error']:+.1f} errors)",
            f"{used.mean[name]:.4f} ({(used.mean[name] - one['mean']) / one['sd']:+.2f} deviations)",
            "within 3 errors",
        )
        for name, one in sampled["found"].items()
    ]
    cold, warm = sampled["cpu_s"]
    rows.append(
        (
            "CPU time",
            f"{warm:.2f} s, {cold:.2f} s with compiling",
            f"{fine.cpu_s:.3f} s, {warm / fine.cpu_s:.0f} times less",
            f"{1000 * used.cpu_s:.1f} ms, {warm / used.cpu_s:.0f} times less",
            "100 times less",
        )
    )
    return rows


def sample(
    blocks: list[list[float]], *, n_warmup: int = N_WARMUP, n_draws: int = N_DRAWS, n_runs: int = 2
) -> dict[str, Any]:
    """Return what NumPyro says of these blocks; from the second run on nothing is compiled."""
    import json
    import tempfile
    from pathlib import Path

    from pupilage.cli.checks_environment import BESIDE, ask

    told = {"blocks": blocks, "priors": PRIORS, "n_warmup": n_warmup, "n_draws": n_draws, "n_runs": n_runs}
    with tempfile.TemporaryDirectory(prefix="pupilage-bench-") as folder:
        path = Path(folder) / "record.json"
        path.write_text(json.dumps(told), encoding="utf-8")
        found = ask(BESIDE / "sampler.py", str(path))
    return found


def fine_prior(n_skills: int = 21, n_rates: int = 17, n_half_lives: int = 9) -> "Prior":
    """Return a prior with the normal laws of PRIORS on so many points: 3.5 deviations to either side."""
    import numpy as np

    def axis(name: str, n: int) -> Any:
        mean, sd = PRIORS[name]
        return mean + sd * np.linspace(-3.5, 3.5, n)

    return _prior_on(axis("start", n_skills), axis("log_rate", n_rates), axis("log_half_life", n_half_lives))


def prior_in_use() -> "Prior":
    """Return a prior with the normal laws of PRIORS on the points of the shipped one."""
    import numpy as np

    from pupilage.core.training.posterior.prior import shipped_prior

    shipped = shipped_prior()
    return _prior_on(shipped.skills, np.log(shipped.rates), np.log(shipped.half_lives))


def _prior_on(skills: Any, log_rates: Any, log_half_lives: Any) -> "Prior":
    import numpy as np

    from pupilage.core.training.posterior.prior import MODELS, Prior, normal_weights

    axes = (skills, log_rates, log_half_lives)
    by_skill, by_rate, by_life = (normal_weights(axis, *PRIORS[name]) for name, axis in zip(PRIORS, axes, strict=True))
    rates, even = np.minimum(0.6, np.exp(log_rates)), np.full(len(MODELS), 1.0 / len(MODELS))
    return Prior("bench", skills, by_skill, rates, by_rate, np.exp(log_half_lives), by_life, even)


def read(trials: "list[Trial]", prior: "Prior") -> Read:
    """Return what the grid of this prior says of the family that learns toward the level and forgets exponentially."""
    import numpy as np

    from pupilage.core.catalogue.loading import load_bundled
    from pupilage.core.training.posterior.grid import cells_of
    from pupilage.core.training.posterior.knowledge import know

    behaviours = {BEHAVIOUR: load_bundled().behaviours[BEHAVIOUR]}
    cells = cells_of(prior)
    cpu = time.process_time()
    known = know(behaviours, trials, prior=prior)
    now = known.at(BEHAVIOUR, trials[-1].at)
    took = time.process_time() - cpu
    weight = now.forms[:, 0] @ now.grid.weight[:, 0]
    axes = {
        "start": cells.skill,
        "log_rate": np.log(cells.rate),
        "log_half_life": np.log(cells.half_life),
        "skill": now.grid.skill[0],
    }
    mean = {name: float(weight @ one) for name, one in axes.items()}
    sd = {name: float(np.sqrt(weight @ (one - mean[name]) ** 2)) for name, one in axes.items()}
    return Read(mean, sd, took)


def made_up_record(seed: int = 4) -> "tuple[list[Trial], list[list[float]]]":
    """Return 20 days of two blocks of five as trials, and as blocks [day, delta, tired, trials, met]."""
    import numpy as np

    from pupilage.core.catalogue.loading import load_bundled
    from pupilage.core.training.posterior import learners
    from pupilage.core.training.posterior.difficulty import ladder_of
    from pupilage.core.training.posterior.learners import Forgetting

    rng, ladder = np.random.default_rng(seed), ladder_of(load_bundled().behaviours[BEHAVIOUR])
    trials: list[Trial] = []
    blocks: list[list[float]] = []
    skill, step, n_met = 0.2, 0, 0
    for day in range(N_DAYS):
        form = float(rng.choice(learners.FORMS, p=learners.FORM_WEIGHTS))
        for block in range(2):
            delta, tired = float(ladder.delta[step]), learners.tiredness(block, 0, 0)
            met = rng.random(BLOCK) < learners.p_met(skill, delta, form=form, tired=tired)
            k, at = int(met.sum()), START + timedelta(days=day, minutes=block)
            trials += tries(BEHAVIOUR, ladder.keys[step], met, session=str(day), at=at)
            blocks.append([day, delta, tired, BLOCK, k])
            skill = float(learners.learn_toward_level(skill, 0.08, delta, BLOCK, k))
            n_met, step = n_met + k, after_block(step, k, len(ladder.keys))
        kept = learners.retained(1.0, 5.0 * learners.growth_of(n_met), Forgetting.EXPONENTIAL)
        skill = float(learners.forget(skill, kept))
    return trials, blocks
