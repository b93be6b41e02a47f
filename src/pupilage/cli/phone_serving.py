"""The servers that a phone in the same network reaches: HTTPS for the pages, plain HTTP for the authority to trust."""

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from ipaddress import IPv4Address
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pupilage.cli.lan import choose_address, find_name
from pupilage.cli.serving import N_THREADS, is_free
from pupilage.core.errors import Conflict, InvalidInput
from pupilage.settings.environment import data_folder, listed

if TYPE_CHECKING:
    from cheroot.wsgi import Server

PHONE_PORT = 8413
TRUST_THREADS = 2
HANDSHAKE_S = 3
"""cheroot shakes hands before it takes the next connection: a silent one may hold up the others so long."""


@dataclass(frozen=True)
class PhoneOptions:
    """What the command line says about phones."""

    phone: bool = False
    address: str | None = None
    phone_port: int | None = None
    plain: bool = False


@dataclass(frozen=True)
class PhoneWay:
    """How a phone reaches this machine. certificate: the server's, None over plain HTTP."""

    address: IPv4Address
    others: tuple[IPv4Address, ...]
    name: str
    port: int
    certificate: Path | None = None
    authority_der: bytes = b""
    fingerprint: str = ""

    @property
    def url(self) -> str:
        """The address of the pages."""
        return f"{'https' if self.certificate else 'http'}://{self.address}:{self.port}"

    @property
    def trust_url(self) -> str:
        """The address of the page that gives the authority, "" over plain HTTP."""
        return f"http://{self.address}:{self.port + 1}" if self.certificate else ""

    def servers(self, application: Any) -> Sequence["Server"]:
        """Return the servers, not yet listening."""
        from cheroot.wsgi import Server

        at = str(self.address)
        pages = Server((at, self.port), application, numthreads=N_THREADS, server_name=at)
        if self.certificate is None:
            return (pages,)
        from django.conf import settings
        from django.utils.module_loading import import_string

        pages.ssl_adapter = _adapter(self.certificate)
        pages.error_log = _without_handshakes(pages.error_log, self.trust_url)
        trust = import_string(settings.TRUST_APPLICATION)(self.authority_der, self.fingerprint, self.url)
        return pages, Server((at, self.port + 1), trust, numthreads=TRUST_THREADS, server_name=at)


def plan_phone(options: PhoneOptions, *, now: datetime) -> PhoneWay | None:
    """Choose address and ports, keep the certificates, and tell the settings; None when no phone is to be served.

    Called before the settings are read. Raises InvalidInput or Conflict with what to do.
    """
    if not options.phone:
        _refuse_without_phone(options)
        return None
    if os.environ.get("PUPILAGE_SETTINGS") == "team":
        raise InvalidInput.of(
            "--phone", "A team's server is reached under its own name by HTTPS; see docs/how-to/team-server.md."
        )
    address, others = choose_address(options.address)
    port = _choose_port(address, options)
    way = PhoneWay(address, tuple(others), find_name(), port)
    if not options.plain:
        way = _certified(way, now)
    _tell_settings(way)
    return way


def _certified(way: PhoneWay, now: datetime) -> PhoneWay:
    from pupilage.storage.certificates import Reached, der_of, fingerprint_of, keep_authority, keep_leaf

    folder = data_folder() / "phone"
    reached = Reached(way.address, way.name)
    authority = keep_authority(folder, reached, now=now)
    leaf = keep_leaf(folder, authority, reached, now=now)
    shown = fingerprint_of(authority.certificate)
    return PhoneWay(way.address, way.others, way.name, way.port, leaf, der_of(authority.certificate), shown)


def _choose_port(address: IPv4Address, options: PhoneOptions) -> int:
    port = PHONE_PORT if options.phone_port is None else options.phone_port
    if not 1 <= port <= 65534:
        raise InvalidInput.of("--phone-port", "{port} is no port; give a number from 1024 to 65534.", port=port)
    for needed in (port,) if options.plain else (port, port + 1):
        if not is_free(needed, str(address), "--phone-port"):
            raise Conflict(
                "Port {port} of {address} is taken by another program; choose another, such as --phone-port {other}. "
                "Over HTTPS the one after it is needed too.",
                port=needed,
                address=str(address),
                other=port + 2 if port < 65000 else PHONE_PORT,
            )
    return port


def _refuse_without_phone(options: PhoneOptions) -> None:
    given = {"--address": options.address, "--phone-port": options.phone_port, "--plain": options.plain or None}
    for option, value in given.items():
        if value is not None:
            raise InvalidInput.of(option, "This goes with --phone; add it, or leave this out.")


def _tell_settings(way: PhoneWay) -> None:
    hosts = [*listed("PUPILAGE_HOSTS"), str(way.address), *([way.name] if way.name else [])]
    os.environ["PUPILAGE_HOSTS"] = ",".join(hosts)
    os.environ["PUPILAGE_PHONE_URL"] = way.url
    os.environ["PUPILAGE_TRUST_URL"] = way.trust_url
    os.environ["PUPILAGE_AUTHORITY_FINGERPRINT"] = way.fingerprint


def _without_handshakes(log: Callable[..., None], trust_url: str) -> Callable[..., None]:
    """Return a log in which a phone that does not trust this machine yet is one sentence, said once."""
    said: list[str] = []

    def write(msg: str = "", *args: Any, **named: Any) -> None:
        if "TLS" not in msg:
            log(msg, *args, **named)
        elif not said:
            said.append(msg)
            click.echo(
                f"Something broke off while it connected: a phone that does not trust this machine yet does that (see "
                f"{trust_url}), and an address that begins with http instead of https.",
                err=True,
            )

    return write


def _adapter(certificate: Path) -> Any:
    """Return cheroot's adapter for Python's own TLS, from version 1.2 on, that waits for a handshake but shortly."""
    import ssl

    from cheroot.ssl.builtin import BuiltinSSLAdapter

    class Adapter(BuiltinSSLAdapter):
        def wrap(self, sock: Any) -> Any:
            usual = sock.gettimeout()
            sock.settimeout(HANDSHAKE_S)
            wrapped, environ = super().wrap(sock)
            wrapped.settimeout(usual)
            return wrapped, environ

    adapter = Adapter(str(certificate), str(certificate))
    adapter.context.minimum_version = ssl.TLSVersion.TLSv1_2
    return adapter
