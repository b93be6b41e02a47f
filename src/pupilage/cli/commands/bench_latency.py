"""`pupilage bench latency`: what the seconds from cue to behaviour add to the estimate of the next try."""

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from pupilage.cli.printing import json_option, print_json, print_table

if TYPE_CHECKING:
    from pupilage.core.simulation.timed_reading import ReadingScores

N_FAMILIES = 3
HEAD = ("latencies", "what is read", "log score of the next try", "gain", "width of 90 %", "intervals that hold")

Row = tuple[str, ...]


@click.command()
@click.option("--behaviours", default=2000, show_default=True, type=click.IntRange(6), help="Simulated behaviours.")
@click.option("--seed", default=1, show_default=True)
@json_option
def latency(behaviours: int, seed: int, as_json: bool = False) -> None:
    """Measure what latency adds to the estimate where it informs, and costs where it does not."""
    rows = list(_measure(behaviours // N_FAMILIES, seed))
    if as_json:
        print_json([dict(zip(HEAD, row, strict=True)) for row in rows])
    else:
        print_table(HEAD, rows)


def _measure(n: int, seed: int) -> Iterator[Row]:
    from pupilage.core.simulation.timed_dogs import Starts
    from pupilage.core.simulation.timed_reading import Reader, read_dogs

    base = read_dogs(n, Reader.OUTCOMES, Starts.TELL_NOTHING, seed=seed)
    cases = [(Starts.TELL_NOTHING, Reader.FEWER), *((starts, Reader.LATENCIES) for starts in Starts)]
    yield _row("", Reader.OUTCOMES, base, base)
    with click.progressbar(cases, label="Readers", file=sys.stderr) as bar:
        for starts, reader in bar:
            told = starts.value if reader is Reader.LATENCIES else ""
            yield _row(told, reader, read_dogs(n, reader, starts, seed=seed), base)


def _row(starts: str, reader: str, scores: "ReadingScores", base: "ReadingScores") -> Row:
    from pupilage.core.simulation.timed_reading import EARLY_UNTIL_DAY, LATE_FROM_DAY

    gain = scores.log_score.mean((1, 2)) - base.log_score.mean((1, 2))
    error = float(gain.std(ddof=1)) / len(gain) ** 0.5
    parts = slice(0, EARLY_UNTIL_DAY), slice(LATE_FROM_DAY, None)
    return (
        starts,
        str(reader),
        f"{scores.log_score.mean():.4f}",
        "–" if scores is base else f"{gain.mean():+.4f} ± {error:.4f}",
        ", ".join(f"{scores.width[:, part].mean():.3f}" for part in parts),
        ", ".join(f"{100 * scores.holds[:, part].mean():.1f} %" for part in parts),
    )
