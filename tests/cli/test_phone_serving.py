"""What `pupilage serve --phone` refuses, with what to do, and what it tells the settings."""

import os
import socket
import stat
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from ipaddress import IPv4Address
from pathlib import Path

import pytest

from pupilage.cli import lan, phone_serving
from pupilage.cli.lan import choose_address, find_addresses, find_name
from pupilage.cli.phone_serving import PhoneOptions, plan_phone
from pupilage.core.errors import Conflict, InvalidInput

AT = datetime(2026, 5, 12, 9, tzinfo=UTC)
TOLD = ("PUPILAGE_HOSTS", "PUPILAGE_PHONE_URL", "PUPILAGE_TRUST_URL", "PUPILAGE_AUTHORITY_FINGERPRINT")


@pytest.fixture(autouse=True)
def home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Iterator[None]:
    """A data folder of its own, and an environment that is put back."""
    before = {name: os.environ.pop(name, None) for name in TOLD}
    monkeypatch.setenv("PUPILAGE_DATA", str(tmp_path))
    monkeypatch.delenv("PUPILAGE_SETTINGS", raising=False)
    yield
    for name, value in before.items():
        os.environ.pop(name, None)
        if value is not None:
            os.environ[name] = value


@pytest.fixture
def at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine with two addresses and every port free."""
    monkeypatch.setattr(lan, "_addresses", lambda: iter(["192.168.1.20", "127.0.0.1", "10.8.0.2", "192.168.1.20"]))
    monkeypatch.setattr(phone_serving, "is_free", lambda *_: True)
    monkeypatch.setattr(socket, "gethostname", lambda: "Barn.lan")


@pytest.mark.usefixtures("at_home")
def test_first_address_is_that_of_the_default_route_and_the_others_are_told() -> None:
    way = plan_phone(PhoneOptions(phone=True), now=AT)
    assert way is not None
    assert (way.url, way.trust_url) == ("https://192.168.1.20:8413", "http://192.168.1.20:8414")
    assert way.others == (IPv4Address("10.8.0.2"),)
    assert os.environ["PUPILAGE_HOSTS"] == "192.168.1.20,barn.local"
    assert os.environ["PUPILAGE_PHONE_URL"] == way.url
    assert os.environ["PUPILAGE_AUTHORITY_FINGERPRINT"] == way.fingerprint
    assert way.certificate is not None
    assert stat.S_IMODE(way.certificate.stat().st_mode) == 0o600


@pytest.mark.usefixtures("at_home")
def test_plain_way_makes_no_certificate(tmp_path: Path) -> None:
    way = plan_phone(PhoneOptions(phone=True, plain=True), now=AT)
    assert way is not None
    assert (way.url, way.trust_url, way.certificate) == ("http://192.168.1.20:8413", "", None)
    assert not (tmp_path / "phone").exists()


def test_machine_without_network_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lan, "_addresses", lambda: iter(["127.0.0.1"]))
    with pytest.raises(Conflict, match="is in no network"):
        plan_phone(PhoneOptions(phone=True), now=AT)


@pytest.mark.parametrize("asked", ["198.51.100.7", "here", "::1", ""])
def test_foreign_address_is_refused_with_those_there_are(asked: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lan, "_addresses", lambda: iter(["192.168.1.20"]))
    with pytest.raises(InvalidInput, match=r"is no address of this machine; it has 192\.168\.1\.20"):
        choose_address(asked)


@pytest.mark.parametrize("asked", ["127.0.0.1", "0.0.0.0"])  # noqa: S104  refused is what it is
def test_loopback_is_refused_since_no_phone_reaches_it(asked: str) -> None:
    with pytest.raises(InvalidInput, match="No phone reaches"):
        choose_address(asked)


@pytest.mark.parametrize("which", [0, 1], ids=["the pages'", "the trust page's"])
def test_taken_port_is_told_with_another(which: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(phone_serving, "choose_address", lambda _: (IPv4Address("127.0.0.1"), []))
    with closing(socket.socket()) as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(Conflict, match=rf"Port {port} of 127\.0\.0\.1 is taken .* --phone-port \d+"):
            plan_phone(PhoneOptions(phone=True, phone_port=port - which), now=AT)


@pytest.mark.parametrize("port", [0, 65535, -1])
@pytest.mark.usefixtures("at_home")
def test_impossible_port_is_refused(port: int) -> None:
    with pytest.raises(InvalidInput, match="is no port"):
        plan_phone(PhoneOptions(phone=True, phone_port=port), now=AT)


@pytest.mark.parametrize(
    "options", [PhoneOptions(plain=True), PhoneOptions(address="10.0.0.1"), PhoneOptions(phone_port=8500)]
)
def test_options_of_phones_alone_are_refused(options: PhoneOptions) -> None:
    with pytest.raises(InvalidInput, match="goes with --phone"):
        plan_phone(options, now=AT)


def test_nothing_happens_without_phone() -> None:
    assert plan_phone(PhoneOptions(), now=AT) is None
    assert "PUPILAGE_PHONE_URL" not in os.environ


def test_teams_server_refuses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PUPILAGE_SETTINGS", "team")
    with pytest.raises(InvalidInput, match="under its own name"):
        plan_phone(PhoneOptions(phone=True), now=AT)


def test_addresses_found_are_this_machines() -> None:
    assert [address for address in find_addresses() if not is_own(str(address))] == []


def is_own(address: str) -> bool:
    with closing(socket.socket()) as probe:
        try:
            probe.bind((address, 0))
        except OSError:
            return False
    return True


@pytest.mark.parametrize(
    ("host", "name"),
    [("Barn", "barn.local"), ("barn.example", "barn.local"), ("localhost", ""), ("under_score", ""), ("", "")],
)
def test_name_is_a_label_of_rfc_1123_or_nothing(host: str, name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(socket, "gethostname", lambda: host)
    assert find_name() == name
