"""`pupilage doctor`: is everything in order."""

import click

from pupilage.cli.clock import now
from pupilage.cli.printing import json_option, print_json
from pupilage.cli.project import Choice, start_django

REPAIR_EXIT_CODE = 1


@click.command()
@json_option
@click.pass_context
def doctor(ctx: click.Context, as_json: bool) -> None:
    """Check the data folder, the database, its settings, the clock and the catalogue.

    Ends with exit code 1 when something needs repair.
    """
    choice: Choice = ctx.obj
    start_django(demo=choice.demo)
    from pupilage.services.check_installation import Result, check_installation

    checks = check_installation(now=now())
    if as_json:
        print_json(checks)
    else:
        for check in checks:
            click.echo(f"{check.result.value:>6}  {check.name}: {check.finding}")
    if any(check.result is Result.REPAIR for check in checks):
        ctx.exit(REPAIR_EXIT_CODE)
