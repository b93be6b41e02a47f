"""The authority of an installation, and what a verifier that is not ours makes of what it signs."""

import http.client
import ssl
import stat
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path
from typing import Any

import pytest
from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509 import verification
from cryptography.x509.oid import ExtendedKeyUsageOID

from pupilage.core.errors import Conflict, InvalidInput
from pupilage.storage.certificates import (
    AUTHORITY_FILE,
    LEAF_FILE,
    Certified,
    Reached,
    fingerprint_of,
    keep_authority,
    keep_leaf,
    make_authority,
    may_sign,
    sign_leaf,
)

AT = datetime(2026, 5, 12, 9, tzinfo=UTC)
HOME = Reached(IPv4Address("192.168.1.20"), "barn.local")


@pytest.fixture(scope="module")
def authority() -> Certified:
    return make_authority(HOME, now=AT)


def verify(authority: Certified, leaf: Certified, subject: x509.GeneralName, at: datetime = AT) -> None:
    """Verify as cryptography's own verifier does, by the profile of web servers."""
    store = verification.Store([authority.certificate])
    verification.PolicyBuilder().store(store).time(at).build_server_verifier(subject).verify(leaf.certificate, [])


@pytest.mark.parametrize("subject", [x509.IPAddress(HOME.address), x509.DNSName(HOME.name)], ids=["address", "name"])
def test_verifier_takes_what_the_authority_signs_for_this_machine(
    authority: Certified, subject: x509.GeneralName
) -> None:
    verify(authority, sign_leaf(authority, HOME, now=AT), subject)


@pytest.mark.parametrize(
    "outside",
    [
        Reached(IPv4Address("192.168.1.20"), "bank.example"),
        Reached(IPv4Address("203.0.113.9")),
        Reached(IPv4Address("172.32.0.1")),
        Reached(IPv4Address("192.168.1.20"), "notlocal"),
    ],
    ids=str,
)
def test_verifier_refuses_what_lies_outside_the_authoritys_names(authority: Certified, outside: Reached) -> None:
    """RFC 5280, 4.2.1.10: every name of the certificate has to lie within the permitted subtrees."""
    leaf = sign_leaf(authority, outside, now=AT)
    subject = x509.DNSName(outside.name) if outside.name else x509.IPAddress(outside.address)
    with pytest.raises(verification.VerificationError):
        verify(authority, leaf, subject)
    assert not may_sign(authority.certificate, outside)


def test_authority_cannot_make_another_authority(authority: Certified) -> None:
    """RFC 5280, 4.2.1.9: with a path length of 0 only end certificates may follow."""
    basic = authority.certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    assert basic.critical
    assert basic.value.ca
    assert basic.value.path_length == 0


def test_authority_is_as_the_profile_asks(authority: Certified) -> None:
    """RFC 5280: 4.1.2.2 serial, 4.2.1.1 and 4.2.1.2 identifiers, 4.2.1.3 key usage, 4.2.1.10 critical constraints."""
    found = authority.certificate.extensions
    assert 0 < authority.certificate.serial_number < 1 << 159
    assert authority.certificate.issuer == authority.certificate.subject
    usage = found.get_extension_for_class(x509.KeyUsage)
    assert usage.critical
    assert usage.value.key_cert_sign
    assert not usage.value.digital_signature
    assert found.get_extension_for_class(x509.NameConstraints).critical
    own = found.get_extension_for_class(x509.SubjectKeyIdentifier).value
    leaf = sign_leaf(authority, HOME, now=AT).certificate.extensions
    assert leaf.get_extension_for_class(x509.AuthorityKeyIdentifier).value.key_identifier == own.digest


def test_leaf_is_as_the_profile_asks(authority: Certified) -> None:
    """RFC 5280: 4.2.1.6 alternative names, 4.2.1.9 no authority, 4.2.1.12 for servers only."""
    leaf = sign_leaf(authority, HOME, now=AT).certificate
    names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.IPAddress) == [HOME.address]
    assert names.get_values_for_type(x509.DNSName) == ["barn.local"]
    assert not leaf.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    uses = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(uses) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert isinstance(leaf.public_key(), ec.EllipticCurvePublicKey)


def test_leaf_lasts_no_longer_than_phones_accept(authority: Certified) -> None:
    """At most 398 days (from memory, the limit for public authorities; 825 for one's own)."""
    leaf = sign_leaf(authority, HOME, now=AT).certificate
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=398)


def test_leaf_never_outlives_its_authority(authority: Certified) -> None:
    late = authority.certificate.not_valid_after_utc - timedelta(days=70)
    leaf = sign_leaf(authority, HOME, now=late).certificate
    assert leaf.not_valid_after_utc <= authority.certificate.not_valid_after_utc


def test_expired_leaf_is_refused(authority: Certified) -> None:
    with pytest.raises(verification.VerificationError):
        verify(authority, sign_leaf(authority, HOME, now=AT), x509.IPAddress(HOME.address), AT + timedelta(days=398))


def test_kept_authority_and_leaf_stay_the_same_while_nothing_changes(tmp_path: Path) -> None:
    first = keep_authority(tmp_path, HOME, now=AT)
    file = keep_leaf(tmp_path, first, HOME, now=AT)
    before = file.read_bytes()
    again = keep_authority(tmp_path, HOME, now=AT + timedelta(days=30))
    assert fingerprint_of(again.certificate) == fingerprint_of(first.certificate)
    assert keep_leaf(tmp_path, again, HOME, now=AT + timedelta(days=30)).read_bytes() == before


@pytest.mark.parametrize(
    ("reached", "later"),
    [
        (Reached(IPv4Address("10.0.0.7"), "barn.local"), timedelta(0)),
        (Reached(HOME.address, "stable.local"), timedelta(0)),
        (HOME, timedelta(days=340)),
    ],
    ids=["address", "name", "age"],
)
def test_leaf_is_made_anew_when_it_no_longer_fits(tmp_path: Path, reached: Reached, later: timedelta) -> None:
    authority = keep_authority(tmp_path, HOME, now=AT)
    before = keep_leaf(tmp_path, authority, HOME, now=AT).read_bytes()
    assert keep_leaf(tmp_path, authority, reached, now=AT + later).read_bytes() != before
    assert keep_authority(tmp_path, reached, now=AT + later).certificate == authority.certificate


def test_keys_are_readable_by_their_owner_only(tmp_path: Path) -> None:
    keep_leaf(tmp_path / "phone", keep_authority(tmp_path / "phone", HOME, now=AT), HOME, now=AT)
    for name in (AUTHORITY_FILE, LEAF_FILE):
        file = tmp_path / "phone" / name
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        file.chmod(0o644)
    keep_authority(tmp_path / "phone", HOME, now=AT)
    assert stat.S_IMODE((tmp_path / "phone" / AUTHORITY_FILE).stat().st_mode) == 0o600


def test_damaged_authority_is_said_and_not_replaced(tmp_path: Path) -> None:
    (tmp_path / AUTHORITY_FILE).write_text("torn")
    with pytest.raises(Conflict, match="is damaged"):
        keep_authority(tmp_path, HOME, now=AT)
    assert (tmp_path / AUTHORITY_FILE).read_text() == "torn"


def test_damaged_leaf_is_made_anew(tmp_path: Path) -> None:
    authority = keep_authority(tmp_path, HOME, now=AT)
    (tmp_path / LEAF_FILE).write_text("torn")
    assert "BEGIN CERTIFICATE" in keep_leaf(tmp_path, authority, HOME, now=AT).read_text()


def test_address_outside_the_authority_is_refused_with_a_sentence(tmp_path: Path) -> None:
    keep_authority(tmp_path, HOME, now=AT)
    with pytest.raises(InvalidInput, match=r"203\.0\.113\.9 is no private address"):
        keep_authority(tmp_path, Reached(IPv4Address("203.0.113.9")), now=AT)


def test_real_handshake_with_the_authority_trusted_by_pythons_ssl(tmp_path: Path) -> None:
    """OpenSSL through Python's ssl, strict: the whole path of a phone, on a socket of this machine."""
    here = Reached(IPv4Address("127.0.0.1"), "barn.local")
    with served(tmp_path, here, here) as (port, trusting):
        assert _ask(port, trusting) == b"https"
        with pytest.raises(ssl.SSLCertVerificationError):
            _ask(port, ssl.create_default_context())


def test_openssl_refuses_a_name_outside_the_constraints(tmp_path: Path) -> None:
    """RFC 5280, 4.2.1.10, as OpenSSL reads it."""
    own, foreign = Reached(IPv4Address("127.0.0.1")), Reached(IPv4Address("127.0.0.1"), "bank.example")
    with (
        served(tmp_path, own, foreign) as (port, trusting),
        pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"),
    ):
        _ask(port, trusting)


@contextmanager
def served(folder: Path, own: Reached, leaf: Reached) -> Iterator[tuple[int, ssl.SSLContext]]:
    """Serve over TLS with an authority for one thing and a leaf for another; give the port and who trusts it."""
    now = datetime.now(UTC)
    authority = keep_authority(folder, own, now=now)
    file = str(keep_leaf(folder, authority, leaf, now=now))
    server = Server(("127.0.0.1", 0), _say_scheme)
    server.ssl_adapter = BuiltinSSLAdapter(file, file)
    server.prepare()
    thread = threading.Thread(target=server.serve)
    thread.start()
    try:
        trusting = ssl.create_default_context(cadata=authority.certificate.public_bytes(Encoding.PEM).decode())
        trusting.verify_flags |= ssl.VERIFY_X509_STRICT
        yield server.bind_addr[1], trusting
    finally:
        server.stop()
        thread.join(timeout=10)


def _say_scheme(environ: dict[str, Any], start: Callable[..., Any]) -> list[bytes]:
    start("200 OK", [("Content-Type", "text/plain")])
    return [environ["wsgi.url_scheme"].encode()]


def _ask(port: int, context: ssl.SSLContext) -> bytes:
    connection = http.client.HTTPSConnection("127.0.0.1", port, context=context, timeout=10)
    try:
        connection.request("GET", "/")
        return connection.getresponse().read()
    finally:
        connection.close()
