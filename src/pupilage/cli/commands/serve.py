"""`pupilage serve`: the pages, on this machine."""

import getpass
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import click

from pupilage.cli.clock import guess_timezone, now
from pupilage.cli.phone_saying import say_phone
from pupilage.cli.phone_serving import PHONE_PORT, PhoneOptions, PhoneWay, plan_phone
from pupilage.cli.project import Choice, start_django
from pupilage.cli.serving import USUAL_PORT, address_of, choose_port, open_in_browser, serve_until_stopped
from pupilage.cli.static_files import collect_static_files
from pupilage.storage.locking import ServerLock, server_lock

port_option = click.option("--port", type=int, help=f"The port to serve on.  [default: {USUAL_PORT}]", metavar="N")
no_open_option = click.option("--no-open", is_flag=True, help="Do not open a browser.")


@click.command()
@port_option
@no_open_option
@click.option("--phone", is_flag=True, help="Serve a phone in the same network too, over HTTPS.")
@click.option("--address", metavar="A", help="With --phone: which address of this machine the phone is to use.")
@click.option("--phone-port", type=int, metavar="N", help=f"With --phone: the port for it.  [default: {PHONE_PORT}]")
@click.option("--plain", is_flag=True, help="With --phone: over plain HTTP. Much does not work then; see the page.")
@click.pass_obj
def serve(choice: Choice, port: int | None, no_open: bool, **phone_options: Any) -> None:
    """Serve the pages on this machine until Ctrl-C.

    An empty database gets its tables and a workspace. Prints a link that signs you in, once.

    With --phone, shows a code to scan that pairs a phone, and where the phone learns to trust this machine.
    """
    phone = plan_phone(PhoneOptions(**phone_options), now=now())
    start_django(demo=choice.demo)
    from pupilage.storage.database import find_database_file, prepare_database

    file = find_database_file()
    if file is None:
        prepare_database()
        serve_pages(choose_port(port, may_move=False), keeper_id(choice), no_open=no_open, phone=phone)
        return
    with server_lock(file) as lock:
        prepare_database()
        serve_pages(choose_port(port, may_move=False), keeper_id(choice), no_open=no_open, lock=lock, phone=phone)


def serve_pages(
    port: int, user_id: UUID, *, no_open: bool, lock: ServerLock | None = None, phone: PhoneWay | None = None
) -> None:
    """Print a link that signs this person in, open it, and serve until stopped; a phone too where there is a way."""
    from django.core.servers.basehttp import get_internal_wsgi_application
    from django.urls import get_resolver

    from pupilage.services.long_work import wake_for_what_is_left

    collect_static_files()
    wake_for_what_is_left()
    application = get_internal_wsgi_application()
    get_resolver().url_patterns  # noqa: B018  the first page is to be as quick as the second
    link = sign_in_link(port, user_id)
    if lock is not None:
        lock.announce(address_of(port))
    beside = phone.servers(application) if phone else ()
    serve_until_stopped(application, port, _welcome(link, user_id, phone, no_open=no_open), beside)
    click.echo("Stopped.")


def _welcome(link: str, user_id: UUID, phone: PhoneWay | None, *, no_open: bool) -> Callable[[], None]:
    def say() -> None:
        click.echo(f"Open this link to sign in; it works once:\n\n    {link}\n")
        if phone:
            say_phone(phone, user_id, now=now())
        click.echo("Ctrl-C stops the server.")
        if not no_open:
            open_in_browser(link)

    return say


def sign_in_link(port: int, user_id: UUID) -> str:
    """Return a new one-time link for this person."""
    from pupilage.services.sign_in import issue_sign_in_link

    return f"{address_of(port)}/sign-in/{issue_sign_in_link(user_id, now=now())}/"


def keeper_id(choice: Choice) -> UUID:
    """Return who is signed in: the keeper of the workspace, which is opened first in an empty database."""
    from pupilage.core.errors import NotFound
    from pupilage.services.get_keeper import get_keeper
    from pupilage.services.open_workspace import NewWorkspace, open_workspace

    try:
        return get_keeper(choice.workspace).user_id
    except NotFound:
        if choice.workspace:
            raise
    name = _system_name()
    new = NewWorkspace(name=name, username=name.lower(), display_name=name, timezone=guess_timezone())
    return open_workspace(new, now=now()).user_id


def _system_name() -> str:
    try:
        return getpass.getuser()[:120] or "trainer"
    except (OSError, KeyError):
        return Path.home().name or "trainer"
