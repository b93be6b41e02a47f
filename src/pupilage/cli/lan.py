"""Under which addresses and which name other machines of the network reach this one."""

import re
import socket
import sys
from collections.abc import Iterator
from ipaddress import IPv4Address, IPv4Network

from pupilage.core.errors import Conflict, InvalidInput

ROUTES_ASKED = ("192.0.2.1", "192.168.255.254", "10.255.255.254", "172.31.255.254", "169.254.255.254")
"""The first is a public address (RFC 5737 keeps it free), so that the default route comes first. Nothing is sent."""

NAME = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
"""A label of a host name: RFC 1123, section 2.1."""


def choose_address(asked: str | None) -> tuple[IPv4Address, list[IPv4Address]]:
    """Return the address that a phone is to use, and the others that this machine has.

    Raises InvalidInput for an address that is not this machine's, and Conflict without any network.
    """
    found = find_addresses()
    if asked is not None:
        chosen = _own(asked, found)
        return chosen, [one for one in found if one != chosen]
    if not found:
        raise Conflict(
            "This machine is in no network, so that no phone can reach it. Join the network that the phone is in, or "
            "the phone's own hotspot, and start again; without --phone the pages work on this machine."
        )
    return found[0], found[1:]


def find_addresses() -> list[IPv4Address]:
    """Return this machine's IPv4 addresses but loopback, that of the default route first."""
    found = dict.fromkeys(IPv4Address(text) for text in _addresses())
    return [one for one in found if not (one.is_loopback or one.is_unspecified or one.is_multicast)]


def find_name() -> str:
    """Return the name under `.local` that other machines know this one by where multicast DNS works, or nothing."""
    label = socket.gethostname().split(".")[0].lower()
    return f"{label}.local" if NAME.fullmatch(label) and label != "localhost" else ""


def _own(asked: str, found: list[IPv4Address]) -> IPv4Address:
    have = ", ".join(map(str, found)) or "none but its own loopback"
    try:
        address = IPv4Address(asked)
        with socket.socket() as probe:
            probe.bind((asked, 0))
    except (ValueError, OSError) as error:
        raise InvalidInput.of(
            "--address", "{asked} is no address of this machine; it has {have}.", asked=asked, have=have
        ) from error
    if address.is_unspecified or address in IPv4Network("127.0.0.0/8"):
        raise InvalidInput.of("--address", "No phone reaches {asked}; this machine has {have}.", asked=asked, have=have)
    return address


def _addresses() -> Iterator[str]:
    for route in ROUTES_ASKED:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                probe.connect((route, 9))
            except OSError:
                continue
            yield probe.getsockname()[0]
    if sys.platform == "linux":
        yield from _interfaces()
    try:
        yield from socket.gethostbyname_ex(socket.gethostname())[2]
    except OSError:
        return


def _interfaces() -> Iterator[str]:
    """Ask each interface for its first address: SIOCGIFADDR of Linux's netdevice(7)."""
    import fcntl
    import struct

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        for _, name in socket.if_nameindex():
            try:
                answer = fcntl.ioctl(probe.fileno(), 0x8915, struct.pack("256s", name.encode()[:15]))
            except OSError:
                continue
            yield socket.inet_ntoa(answer[20:24])
