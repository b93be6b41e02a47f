"""The command `pupilage`."""

import os
import sys

import click

from pupilage import __version__
from pupilage.cli.commands.agreement import agreement
from pupilage.cli.commands.alone import alone
from pupilage.cli.commands.bench import bench
from pupilage.cli.commands.bench_alone import alone as left_alone
from pupilage.cli.commands.bench_changes import changes
from pupilage.cli.commands.bench_day_plans import day_plans
from pupilage.cli.commands.bench_forecasts import forecasts
from pupilage.cli.commands.bench_incidents import incidents as planted_incidents
from pupilage.cli.commands.bench_latency import latency
from pupilage.cli.commands.bench_logger import logger
from pupilage.cli.commands.bench_pack import pack as bench_pack
from pupilage.cli.commands.bench_pooling import pooling
from pupilage.cli.commands.bench_progress import progress as bench_progress
from pupilage.cli.commands.bench_recordings import recordings as heard_in_recordings
from pupilage.cli.commands.bench_sampler import sampler
from pupilage.cli.commands.bench_toilet import toilet as bench_toilet
from pupilage.cli.commands.catalogue import catalogue
from pupilage.cli.commands.day import day
from pupilage.cli.commands.decide import decide
from pupilage.cli.commands.demo import demo
from pupilage.cli.commands.doctor import doctor
from pupilage.cli.commands.exposures import exposures
from pupilage.cli.commands.families import families
from pupilage.cli.commands.forecast import forecast
from pupilage.cli.commands.handover import explain, handover
from pupilage.cli.commands.importing import import_
from pupilage.cli.commands.incidents import incidents
from pupilage.cli.commands.own_review import review
from pupilage.cli.commands.programme import programme
from pupilage.cli.commands.progress import progress
from pupilage.cli.commands.ration import ration
from pupilage.cli.commands.recording import recording
from pupilage.cli.commands.recording_enrol import enrol
from pupilage.cli.commands.recording_reading import read, watch, work
from pupilage.cli.commands.reinforcers import reinforcers
from pupilage.cli.commands.safekeeping import backup, export, restore
from pupilage.cli.commands.serve import serve
from pupilage.cli.commands.session import session
from pupilage.cli.commands.sign_in import sign_in
from pupilage.cli.commands.simulate import simulate
from pupilage.cli.commands.threshold import threshold
from pupilage.cli.commands.toilet import toilet
from pupilage.cli.commands.vet_report import vet_report
from pupilage.cli.failing import Commands
from pupilage.cli.project import Choice

for limit in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(limit, "1")  # our matrices are small: threads that wait for each other make them slower


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="pupilage")
@click.option("--demo", is_flag=True, help="Use the demo's database instead of your own.")
@click.option("--workspace", default="", help="Act in this workspace, by name or id.", metavar="NAME")
@click.pass_context
def pupilage(ctx: click.Context, demo: bool, workspace: str) -> None:
    """Keeps a puppy's stay with its trainer: what to teach next, and whether it will be ready at hand-over."""
    ctx.obj = Choice(demo=demo, workspace=workspace)


COMMANDS = (
    demo,
    serve,
    sign_in,
    programme,
    session,
    day,
    decide,
    forecast,
    threshold,
    progress,
    toilet,
    reinforcers,
    incidents,
    alone,
    agreement,
    exposures,
    ration,
    recording,
    handover,
    explain,
    vet_report,
    families,
    review,
    catalogue,
    import_,
    export,
    backup,
    restore,
    doctor,
    simulate,
    bench,
)
for measure in (
    changes,
    forecasts,
    latency,
    planted_incidents,
    left_alone,
    pooling,
    sampler,
    bench_toilet,
    day_plans,
    bench_pack,
    bench_progress,
    heard_in_recordings,
    logger,
):
    bench.add_command(measure)
for part in (enrol, read, watch, work):
    recording.add_command(part)
for command in COMMANDS:
    pupilage.add_command(command)


def main() -> None:
    """Run the command line."""
    sys.exit(pupilage(prog_name="pupilage"))
