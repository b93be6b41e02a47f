"""`pupilage bench recordings`: what is found in made recordings whose truth is known, and how long it takes."""

from collections.abc import Iterator
from math import isfinite
from pathlib import Path

import click

from pupilage.cli.commands.bench_dogs import HOMES, measure_barks
from pupilage.cli.commands.bench_listening import Took, measure_captions, measure_home, measure_long_recording
from pupilage.cli.commands.bench_noises import CONDITIONS as NOISE_CONDITIONS
from pupilage.cli.commands.bench_noises import Measured, measure_clicks, measure_whistles
from pupilage.cli.commands.bench_words import CONDITIONS, TrialsMeasured, measure_words, usable_conditions
from pupilage.cli.printing import json_option, print_json, print_table

FOUND = ("found", "where", "F1", "precision", "recall", "true ones", "start off by, median / 90 %")
TRIALS = ("trials", "right", "extra", "extra if talk counted")
TOOK = ("work", "seconds", "of one core", "memory at most")
NOISES = ("quiet", "pink 10 dB", "babble 10 dB")


@click.command()
@click.option("--voices", default=2, show_default=True, type=click.IntRange(1, 7), help="Voices, a session each.")
@click.option("--sounds", default=2, show_default=True, type=click.IntRange(1), help="Clickers, whistles and dogs.")
@click.option("--minutes", default=20.0, show_default=True, type=click.FloatRange(1.0), help="Of the long recording.")
@click.option("--hours", default=3.0, show_default=True, type=click.FloatRange(0.0), help="Of a home; 0 for none.")
@click.option("--video", is_flag=True, help="Write the long recording with pictures, 70 MB a minute, by ffmpeg.")
@json_option
def recordings(voices: int, sounds: int, minutes: float, hours: float, video: bool, as_json: bool) -> None:
    """Measure what is heard in recordings: words, trials, clicks, whistles, barks; and the time it takes.

    The sessions are made, with voices of flite and espeak-ng that nothing was tuned on. About eight minutes.
    """
    import tempfile

    conditions = usable_conditions()
    if len(conditions) < len(CONDITIONS):
        click.echo(
            "Babble is not measured: on Debian, asterisk-core-sounds-en-wav and -fr-wav are needed for it.", err=True
        )
    with tempfile.TemporaryDirectory(prefix="pupilage-bench-") as folder:
        click.echo("Words ...", err=True)
        reached = measure_words(Path(folder), n_voices=voices, conditions=conditions)
        click.echo("Clicks, whistles, barks ...", err=True)
        noises = list(_noises(sounds))
        click.echo("A long recording ...", err=True)
        took = [measure_long_recording(Path(folder), minutes=minutes, video=video), measure_captions()]
        took += [measure_home(hours=hours)] if hours else []
    took.insert(0, Took("learning one voice's words, the slowest", reached.learning_s, reached.learning_s, None))
    if as_json:
        print_json({
            "found": [row._asdict() for row in (*reached.words, *reached.corrected, *noises)],
            "trials": [row._asdict() for row in reached.trials],
            "took": [row._asdict() for row in took],
        })  # fmt: skip
        return
    print_table(FOUND, map(_found, (*reached.words, *reached.corrected, *noises)))
    print_table(TRIALS, map(_trials, reached.trials))
    print_table(TOOK, map(_took, took))


def _noises(n: int) -> Iterator[Measured]:
    conditions = [one for one in NOISE_CONDITIONS if one[0] in NOISES]
    yield from measure_clicks(n_clickers=n, conditions=conditions)
    yield from measure_whistles(n_whistles=n, conditions=conditions)
    yield from measure_barks(None, n_dogs=n, homes=[HOMES[0], HOMES[3]])


def _found(row: Measured) -> tuple[str, ...]:
    figures = (f"{row.f1:.2f}", f"{row.precision:.2f}", f"{row.recall:.2f}", str(row.n_true))
    timing = f"{row.median_ms:.0f} / {row.ninety_ms:.0f} ms" if isfinite(row.median_ms) else "–"
    return (row.what, row.condition, *figures, timing)


def _trials(row: TrialsMeasured) -> tuple[str, ...]:
    return (row.condition, f"{row.n_right} of {row.n_true}", str(row.n_extra), str(row.n_extra_with_talk))


def _took(row: Took) -> tuple[str, ...]:
    return (row.what, f"{row.wall_s:.1f}", f"{row.cpu_s:.1f}", "–" if row.peak_mb is None else f"{row.peak_mb:.0f} MB")
