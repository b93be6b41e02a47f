"""`pupilage bench pooling`: what it costs to pool thousands of earlier dogs. It prints, it does not judge."""

import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.training.pooling.dog_summary import DogSummary

Row = tuple[str, str, str, str]
N_DOGS, N_TRIALS, N_CELLS = 5000, 10_000, 48
N_BEHAVIOURS, N_A_SESSION = 12, 10
KENNELS = (("of a quick kennel", 0.10), ("of a slow kennel", 0.03))
"""Names, and the median learning rate of the dogs."""
N_LEFT_OUT = (4, 12, 36)


@click.command()
@json_option
def pooling(as_json: bool = False) -> None:
    """Measure pooling: 5,000 dogs with 10,000 trials each to counts, chances and a prior (needs 2 GB)."""
    rows = [*_left_out(), *_from_columns(), *_from_parquet(), *_hierarchy()]
    if as_json:
        print_json([dict(zip(("what", "measured", "goal", "how"), row, strict=True)) for row in rows])
    else:
        print_table(("what", "measured", "goal", "how"), rows)


def _peak_mb() -> float:
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _left_out() -> Iterator[Row]:
    """Say how much likelier a dog's record is under the prior of the other dogs than under the shipped one."""
    import numpy as np

    from pupilage.core.training.pooling.shape_fit import gain_of_pooling

    for name, rate in KENNELS:
        for n in N_LEFT_OUT:
            summaries, n_trials = _simulated_kennel(n, rate)
            gain = gain_of_pooling(summaries)
            yield (
                f"one dog {name} from the other {n - 1}: log score with pooling less that without",
                f"{gain.mean():+.2f} ± {gain.std(ddof=1) / np.sqrt(n):.2f} nats a dog",
                "above 0",
                f"{n_trials // n} trials a dog, three behaviours, simulated; each dog left out in turn",
            )


def _simulated_kennel(n: int, rate: float) -> "tuple[list[DogSummary], int]":
    """Return the summaries of simulated dogs that learn at about this rate, and how many trials there were."""
    import numpy as np

    from pupilage.cli.commands.bench_records import simulated_dog
    from pupilage.core.catalogue.loading import load_bundled
    from pupilage.core.training.pooling.dog_summary import summary_of
    from pupilage.core.training.posterior.knowledge import know

    rng = np.random.default_rng(round(1000 * rate))
    behaviours = {key: load_bundled().behaviours[key] for key in ("sit", "down", "recall")}
    records = [simulated_dog(behaviours, rate, rng) for _ in range(n)]
    summaries = [summary_of(know(behaviours, trials).state) for trials in records]
    return summaries, sum(map(len, records))


def _from_columns() -> Iterator[Row]:
    import numpy as np

    from pupilage.cli.beside.parquet_counts import columns
    from pupilage.core.training.pooling.pooled_cells import pooled_chances
    from pupilage.core.training.pooling.tallies import counts_of

    rng = np.random.default_rng(1)
    parts = [columns(first, 100, rng) for first in range(0, N_DOGS, 100)]
    dog, cell, met = (np.concatenate(one) for one in zip(*parts, strict=True))
    del parts
    n_bytes = dog.nbytes + cell.nbytes + met.nbytes
    start = time.perf_counter()
    for column in (dog, cell, met):
        column.view(np.uint64).sum()
    floor_s = time.perf_counter() - start
    start, cpu = time.perf_counter(), time.process_time()
    tallies = counts_of(dog, cell, met, n_dogs=N_DOGS, n_cells=N_CELLS)
    counted_s = time.perf_counter() - start
    pooled_chances(tallies)
    took, cpu_s = time.perf_counter() - start, time.process_time() - cpu
    yield (
        f"{len(dog) / 1e6:.0f} million trials in memory to counts and {N_CELLS} chances",
        f"{took:.2f} s ({cpu_s:.2f} s CPU), {counted_s:.2f} s of it counting",
        "under 2 s",
        f"{n_bytes / 1e6:.0f} MB, read once in {1000 * floor_s:.0f} ms ({n_bytes / floor_s / 1e9:.0f} GB/s)",
    )


def _from_parquet() -> Iterator[Row]:
    import tempfile

    from pupilage.cli.checks_environment import BESIDE, ask, find_python

    what = "the same from Parquet"
    if find_python() is None:
        yield (what, "not measured", "under 10 s", "needs pyarrow: scripts/set_up_checks makes .venv-checks")
        return
    with tempfile.TemporaryDirectory(prefix="pupilage-bench-") as folder:
        path = Path(folder) / "trials.parquet"
        ask(BESIDE / "parquet_counts.py", str(path), "write")
        n_bytes = path.stat().st_size
        start = time.perf_counter()
        path.read_bytes()
        floor_s = time.perf_counter() - start
        told = ask(BESIDE / "parquet_counts.py", str(path), "count")
    yield (
        what,
        f"{told['wall_s']:.2f} s ({told['cpu_s']:.2f} s CPU), peak {told['peak_mb']:.0f} MB",
        "under 10 s, 4 GB",
        f"file of {n_bytes / 1e6:.0f} MB, read from the disk's cache in {1000 * floor_s:.0f} ms; pyarrow",
    )


def _hierarchy() -> Iterator[Row]:
    import numpy as np

    from pupilage.core.training.pooling.shape_fit import pooled_shape
    from pupilage.core.training.posterior.prior import RATE_MEDIAN

    earlier, truth = _drawn_summaries(np.random.default_rng(2))
    n_bytes = earlier.skill.nbytes + earlier.level.nbytes
    start = time.perf_counter()
    earlier.skill.sum()
    floor_s = time.perf_counter() - start
    start, cpu = time.perf_counter(), time.process_time()
    shape = pooled_shape(earlier)
    took, cpu_s = time.perf_counter() - start, time.process_time() - cpu
    yield (
        f"prior of {N_DOGS} dogs with {N_BEHAVIOURS} behaviours each, from their summaries",
        f"{took:.1f} s ({cpu_s:.1f} s CPU), peak {_peak_mb():.0f} MB",
        "under 60 s, 4 GB",
        f"{n_bytes / 1e6:.0f} MB, read once in {1000 * floor_s:.0f} ms; skill {shape.skill_mean:.2f} "
        f"(drawn {truth[0]:.2f}), rate {np.exp(shape.log_rate_mean):.3f} (drawn {truth[1]:.3f}, shipped {RATE_MEDIAN})",
    )
    yield ("one dog's record folded into its summary", *_fold_of_one_dog())


def _drawn_summaries(rng):
    """Return summaries as a dog's grids would leave them, bells around what was drawn, and what it was drawn around."""
    import numpy as np

    from pupilage.core.training.pooling.dog_summary import Earlier
    from pupilage.core.training.posterior.prior import shipped_prior

    grid, n = shipped_prior(), N_DOGS * N_BEHAVIOURS
    skill = -0.2 + 0.6 * rng.standard_normal(n)
    log_rate = np.log(0.05) + 0.5 * rng.standard_normal(n)

    def seen(axis, truth, sd):
        told = truth + sd * rng.standard_normal(len(truth))
        return np.exp(-0.5 * ((axis - told[:, None]) / sd) ** 2).astype(np.float32)

    by_skill, by_rate = seen(grid.skills, skill, 0.5), seen(np.log(grid.rates), log_rate, 0.5)
    by_half_life = np.ones((n, len(grid.half_lives)), dtype=np.float32)
    level = np.einsum("nj,nk->njk", by_rate, by_half_life).reshape(n, 1, -1)
    cells = np.empty((n, 4, len(grid.skills) * level.shape[-1]), dtype=np.float32)
    cells[:] = np.einsum("ni,nj->nij", by_skill, level[:, 0]).reshape(n, 1, -1)
    level *= (by_skill @ grid.skill_weights.astype(np.float32))[:, None, None]  # no model is likelier by itself
    dog = np.repeat(np.arange(N_DOGS), N_BEHAVIOURS)
    log_models = rng.normal(size=(N_DOGS, 6))
    return Earlier(dog, cells, np.repeat(level, 2, axis=1), log_models, grid), (-0.2, 0.05)


def _fold_of_one_dog() -> tuple[str, str, str]:
    from datetime import timedelta

    from pupilage.cli.commands.bench_records import START, tries
    from pupilage.core.catalogue.loading import load_bundled
    from pupilage.core.training.pooling.dog_summary import summary_of
    from pupilage.core.training.posterior.knowledge import know

    behaviours = dict(list(load_bundled().behaviours.items())[:N_BEHAVIOURS])
    keys, trials, n_sessions = list(behaviours), [], N_TRIALS // N_A_SESSION
    for session in range(n_sessions):
        day, of_day = divmod(session, 40)
        key, at = keys[session % len(keys)], START + timedelta(days=day, minutes=15 * of_day)
        steps = behaviours[key].steps
        step = steps[session * len(steps) // n_sessions].key
        trials += tries(key, step, [i % 4 for i in range(N_A_SESSION)], session=str(session), at=at)
    cpu = time.process_time()
    summary = summary_of(know(behaviours, trials).state)
    took = time.process_time() - cpu
    kept = (summary.skill.nbytes + summary.level.nbytes) / 1e6
    return (f"{took:.2f} s CPU, {kept:.2f} MB", "–", f"{N_TRIALS} trials, once, when its stay has ended")
