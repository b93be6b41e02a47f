"""`pupilage sign-in`: another one-time link, while the server runs."""

import click

from pupilage.cli.clock import now
from pupilage.cli.project import Choice, act


@click.command("sign-in")
@click.pass_obj
def sign_in(choice: Choice) -> None:
    """Print another link that signs you in, once, to the server that runs."""
    actor = act(choice)
    from pupilage.core.errors import Conflict
    from pupilage.services.sign_in import issue_sign_in_link
    from pupilage.storage.database import find_database_file
    from pupilage.storage.locking import find_holder

    file = find_database_file()
    address = find_holder(file) if file else ""
    if not address.startswith("http"):
        raise Conflict("No server runs on this database; `pupilage serve` starts one and prints a link.")
    click.echo(f"{address}/sign-in/{issue_sign_in_link(actor.user_id, now=now())}/")
