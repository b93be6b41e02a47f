"""What the terminal says about phones: where, how to trust this machine, and the code to scan."""

import sys
from datetime import datetime
from io import StringIO
from uuid import UUID

import click

from pupilage.cli.phone_serving import PhoneWay


def say_phone(way: PhoneWay, user_id: UUID, *, now: datetime) -> None:
    """Print the steps for a phone, with a new code for this person."""
    from pupilage.core.errors import NotFound
    from pupilage.services.find_actor import find_actor
    from pupilage.services.pair_phone import make_pairing_code

    actor = find_actor(user_id)
    if actor is None:
        raise NotFound("This person belongs to no workspace, so that no phone can be paired.")
    made = make_pairing_code(actor, now=now)
    click.echo(f"A phone in the same network reaches this machine at {way.url}")
    if way.name and way.certificate:
        click.echo(f"(where it knows the name, also at https://{way.name}:{way.port})")
    if way.others:
        click.echo(f"Other addresses of this machine: {', '.join(map(str, way.others))}; --address takes one of them.")
    click.echo(_trust_words(way))
    link = f"{way.url}/pair/{made.code}/"
    click.echo("To pair the phone, scan this or open the address; it works once, for ten minutes:\n")
    click.echo(f"{_drawn(link)}    {link}\n")
    click.echo(
        f"If the phone finds nothing: this machine's firewall has to let in {_ports(way)}, and guest networks "
        "keep machines apart.\nAnother code, and the list of paired phones: Settings, Phones.\n"
    )


def _trust_words(way: PhoneWay) -> str:
    if not way.certificate:
        return (
            "\nOver plain HTTP the phone cannot install the app, start it without a network, keep its screen awake or "
            "use\nthe microphone, and everybody in this network can read along. Leave out --plain for all of it.\n"
        )
    return (
        f"\nOnce for each phone: open {way.trust_url} on it and follow the steps, so that it trusts this machine."
        f"\nThe fingerprint (SHA-256) there must be\n    {way.fingerprint}\n"
    )


def _ports(way: PhoneWay) -> str:
    return f"the TCP ports {way.port} and {way.port + 1}" if way.certificate else f"the TCP port {way.port}"


def _drawn(link: str) -> str:
    """Return the QR code in half blocks, or nothing where the output is no terminal that can show them."""
    if not sys.stdout.isatty() or "utf" not in (sys.stdout.encoding or "").lower():
        return ""
    import segno

    out = StringIO()
    segno.make(link, error="l", micro=False).terminal(out, compact=True)
    return f"{out.getvalue()}\n"
