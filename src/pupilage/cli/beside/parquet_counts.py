"""Counts trials from a Parquet file and times it; run with .venv-checks, since Pupilage itself needs no pyarrow.

Arguments: the path, "write" or "count". Prints JSON. Row groups are read one after another, so that memory stays small.
"""

import json
import resource
import sys
import time

import numpy as np

N_DOGS, N_TRIALS, N_CELLS = 5000, 10_000, 48
DOGS_A_GROUP = 50


def columns(first_dog: int, n_dogs: int, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return dog, cell and met of some dogs, each of them with its own chance in every cell."""
    dog = np.repeat(np.arange(first_dog, first_dog + n_dogs, dtype=np.uint16), N_TRIALS)
    cell = rng.integers(0, N_CELLS, len(dog), dtype=np.uint8)
    mean = np.linspace(0.4, 0.95, N_CELLS)
    chance = rng.beta(8.0 * mean, 8.0 * (1.0 - mean), size=(n_dogs, N_CELLS))
    met = rng.random(len(dog), dtype=np.float32) < chance[dog - first_dog, cell]
    return dog, cell, met.astype(np.uint8)


def write(path: str) -> None:
    """Write the trials of all dogs, a row group a few dogs."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    rng = np.random.default_rng(1)
    schema = pa.schema([("dog", pa.uint16()), ("cell", pa.uint8()), ("met", pa.uint8())])
    with pq.ParquetWriter(path, schema) as writer:
        for first in range(0, N_DOGS, DOGS_A_GROUP):
            writer.write_table(pa.table(list(columns(first, DOGS_A_GROUP, rng)), schema=schema))


def count(path: str) -> None:
    """Count the file's trials, pool their chances, and print how long both took."""
    import pyarrow.parquet as pq

    from pupilage.core.training.pooling.pooled_cells import pooled_chances
    from pupilage.core.training.pooling.tallies import Tallies, counts_of

    wall, cpu = time.perf_counter(), time.process_time()
    n_met = np.zeros((N_DOGS, N_CELLS), dtype=np.int64)
    n_missed = np.zeros_like(n_met)
    for batch in pq.ParquetFile(path).iter_batches(batch_size=DOGS_A_GROUP * N_TRIALS):
        dog, cell, met = (column.to_numpy(zero_copy_only=False) for column in batch.columns)
        first, last = int(dog[0]), int(dog[-1])
        part = counts_of(dog - np.uint16(first), cell, met, n_dogs=last - first + 1, n_cells=N_CELLS)
        n_met[first : last + 1] += part.n_met
        n_missed[first : last + 1] += part.n_missed
    pooled_chances(Tallies(n_met, n_missed))
    took = {"wall_s": time.perf_counter() - wall, "cpu_s": time.process_time() - cpu}
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps(took | {"peak_mb": peak_mb, "n_trials": int(n_met.sum() + n_missed.sum())}))


if __name__ == "__main__":
    {"write": write, "count": count}[sys.argv[2]](sys.argv[1])
