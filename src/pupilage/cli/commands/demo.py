"""`pupilage demo`: an invented pup, ten days into its programme, and five before it, in a database of its own."""

from pathlib import Path
from uuid import UUID

import click

from pupilage.cli.clock import guess_timezone, now
from pupilage.cli.commands.serve import no_open_option, port_option, serve_pages
from pupilage.cli.project import start_django
from pupilage.cli.serving import choose_port
from pupilage.storage.locking import server_lock

USUAL_SEED = 9


@click.command()
@click.option("--no-serve", is_flag=True, help="Only load the demo.")
@click.option("--seed", type=click.IntRange(min=0), help=f"Another invented pup.  [default: {USUAL_SEED}]", metavar="N")
@port_option
@no_open_option
def demo(no_serve: bool, seed: int | None, port: int | None, no_open: bool) -> None:
    """Meet an invented pup, ten days into a three-week programme, and five that went to their families before.

    The demo has a database of its own. One made today is kept; one from an earlier day is set aside under a dated
    name, and a fresh one is made.
    """
    start_django(demo=True)
    from pupilage.settings.environment import database_file

    with server_lock(database_file()) as lock:
        user_id = _ready_demo(database_file(), seed)
        if no_serve:
            click.echo("The demo is ready; `pupilage demo` serves it.")
            return
        serve_pages(choose_port(port, may_move=True), user_id, no_open=no_open, lock=lock)


def _ready_demo(file: Path, seed: int | None) -> UUID:
    """Return the demo's trainer, after making a fresh demo where that is due."""
    from pupilage.services.get_keeper import get_keeper

    if file.exists():
        stale = _why_stale(file, seed)
        if not stale:
            return get_keeper().user_id
        _set_aside(file, stale)
    return _make_demo(USUAL_SEED if seed is None else seed)


def _why_stale(file: Path, seed: int | None) -> str:
    """Return why a fresh demo is due, or nothing."""
    from pupilage.core.clock import find_zone, local_day
    from pupilage.core.errors import Conflict
    from pupilage.services.find_demo import find_demo
    from pupilage.storage.database import prepare_database
    from pupilage.storage.troubles import Damaged

    try:
        prepare_database()
    except Damaged:
        return "it is damaged"
    except Conflict:
        return "a newer Pupilage made it"
    mark = find_demo()
    if mark is None:
        return "it is not complete"
    zone = find_zone(mark.timezone)
    if local_day(mark.made_at, zone) != local_day(now(), zone):
        return "it is from an earlier day"
    return "another seed was asked for" if seed not in {None, mark.seed} else ""


def _set_aside(file: Path, why: str) -> None:
    from pupilage.storage.database import close_database
    from pupilage.storage.files import set_aside

    close_database()
    aside = set_aside(file, now=now(), why="before")
    click.echo(f"There was a demo already, but {why}; it was kept as {aside}.")


def _make_demo(seed: int) -> UUID:
    from pupilage.core.simulation.earlier_stays import generate_earlier_stays
    from pupilage.core.simulation.generation import generate_scenario
    from pupilage.services.load_demo import count_demo_entries, load_demo
    from pupilage.services.plan_programme import plan_programme
    from pupilage.services.read_programme import find_current_id
    from pupilage.storage.catalogue_files import load_catalogue
    from pupilage.storage.database import prepare_database

    prepare_database()
    at = now()
    catalogue = load_catalogue()
    scenario = generate_scenario(seed=seed, now=at, catalogue=catalogue, timezone=guess_timezone())
    earlier = generate_earlier_stays(scenario, seed=seed, now=at, catalogue=catalogue)
    with click.progressbar(length=count_demo_entries(scenario, earlier), label="Writing the demo") as bar:
        actor = load_demo(
            scenario, seed=seed, now=at, earlier=earlier, progress=lambda done, _: bar.update(done - bar.pos)
        )
    programme_id = find_current_id(actor, now=at)
    if programme_id is not None:
        click.echo("Planning the stay ...")
        plan_programme(actor, programme_id, now=at)
    click.echo(
        f"{scenario.pup.name} is ten days into a programme with {scenario.trainer}, after {len(earlier)} other pups."
    )
    click.echo("All of it is invented.")
    return actor.user_id
