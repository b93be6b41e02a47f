"""Certificates by which a phone knows this machine: an authority made for this installation, and what it signs.

The authority stays in the data folder, in one file with its key that only its owner may read. It is constrained to
private addresses, to names under `.local` and to the address that was chosen when it was made (RFC 5280, 4.2.1.10): a
phone that trusts it trusts it for nothing else.
"""

import os
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path
from uuid import uuid4

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from pupilage.core.errors import Conflict, InvalidInput
from pupilage.storage.files import sync_folder

PRIVATE_NETWORKS = tuple(
    IPv4Network(net) for net in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16")
)
"""RFC 1918, section 3, and RFC 3927, section 2.1: addresses that no public network routes."""

LOCAL_DOMAIN = "local"
"""RFC 6762, section 3: names that mean something on the own network only."""

AUTHORITY_LASTS = timedelta(days=3650)
LEAF_LASTS = timedelta(days=397)
"""From memory: phones refuse 398 days and more from the public authorities, and more than 825 from one's own."""

RENEWED_BEFORE = timedelta(days=60)
CLOCKS_DIFFER = timedelta(days=1)
"""A certificate begins a day early: a phone's clock may be behind."""

AUTHORITY_FILE, LEAF_FILE = "authority.pem", "server.pem"


@dataclass(frozen=True)
class Certified:
    """A certificate with its private key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey


@dataclass(frozen=True)
class Reached:
    """Under which a phone reaches this machine. name: with its domain, "" for none."""

    address: IPv4Address
    name: str = ""


def keep_authority(folder: Path, reached: Reached, *, now: datetime) -> Certified:
    """Return this installation's authority, made at the first call and again once it has expired.

    Raises Conflict for a damaged file, InvalidInput for an address outside what the authority may sign.
    """
    file = folder / AUTHORITY_FILE
    kept = _read(file) if file.exists() else None
    if kept is None or kept.certificate.not_valid_after_utc <= now + RENEWED_BEFORE:
        kept = make_authority(reached, now=now)
        _write(file, kept, kept.certificate)
    if not may_sign(kept.certificate, reached):
        raise InvalidInput.of(
            "--address",
            "{address} is no private address, and this installation's certificate authority is made for private ones. "
            "Use an address of your own network. If {address} is one, move {file} away and start again; every phone "
            "then has to trust the new authority.",
            address=str(reached.address),
            file=str(file),
        )
    return kept


def keep_leaf(folder: Path, authority: Certified, reached: Reached, *, now: datetime) -> Path:
    """Return the file with the server's key, its certificate and its authority's.

    It is made anew when the address or the name has changed, when it expires soon, or when another authority signs.
    """
    file = folder / LEAF_FILE
    if not (file.exists() and _still_good(file, authority, reached, now)):
        leaf = sign_leaf(authority, reached, now=now)
        _write(file, leaf, leaf.certificate, authority.certificate)
    return file


def make_authority(reached: Reached, *, now: datetime) -> Certified:
    """Return a new authority, good for ten years."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name(
        [x509.NameAttribute(NameOID.COMMON_NAME, f"Pupilage of {reached.name or reached.address}"[:64])],
    )
    build = _dated(now, AUTHORITY_LASTS).subject_name(name).issuer_name(name).public_key(key.public_key())
    own = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    build = (
        build.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(_permitted(reached), None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(own, critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(own), critical=False)
    )
    return Certified(build.sign(key, hashes.SHA256()), key)


def sign_leaf(authority: Certified, reached: Reached, *, now: datetime) -> Certified:
    """Return a certificate for what this machine is reached under, not longer than its authority's.

    The signer does not look at the names: whoever verifies refuses those outside the authority's constraints.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    lasts = min(LEAF_LASTS, authority.certificate.not_valid_after_utc - now)
    build = _dated(now, lasts).public_key(key.public_key()).issuer_name(authority.certificate.subject)
    build = build.subject_name(
        x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, (reached.name or str(reached.address))[:64])])
    )
    names: list[x509.GeneralName] = [x509.IPAddress(reached.address)]
    if reached.name:
        names.append(x509.DNSName(reached.name))
    authority_id = authority.certificate.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    build = (
        build.add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(authority_id), critical=False)
    )
    return Certified(build.sign(authority.key, hashes.SHA256()), key)


def may_sign(authority: x509.Certificate, reached: Reached) -> bool:
    """Return whether an authority's constraints permit an address and a name."""
    permitted = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    networks = [one.value for one in permitted if isinstance(one, x509.IPAddress)]
    domains = [one.value for one in permitted if isinstance(one, x509.DNSName)]
    named = not reached.name or any(f".{reached.name}".endswith(f".{domain}") for domain in domains)
    return named and any(isinstance(net, IPv4Network) and reached.address in net for net in networks)


def is_private(address: IPv4Address) -> bool:
    """Return whether an address belongs to a network of one's own."""
    return any(address in net for net in PRIVATE_NETWORKS)


def fingerprint_of(certificate: x509.Certificate) -> str:
    """Return a certificate's SHA-256, in pairs as phones show it."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def der_of(certificate: x509.Certificate) -> bytes:
    """Return a certificate as phones install it."""
    return certificate.public_bytes(serialization.Encoding.DER)


def _permitted(reached: Reached) -> list[x509.GeneralName]:
    chosen = [] if is_private(reached.address) else [IPv4Network(reached.address)]
    return [x509.DNSName(LOCAL_DOMAIN), *(x509.IPAddress(net) for net in (*PRIVATE_NETWORKS, *chosen))]


def _dated(now: datetime, lasts: timedelta) -> x509.CertificateBuilder:
    start = now.astimezone(UTC).replace(microsecond=0) - CLOCKS_DIFFER
    return (
        x509.CertificateBuilder()
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + lasts)
    )


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )


def _still_good(file: Path, authority: Certified, reached: Reached, now: datetime) -> bool:
    try:
        leaf = _read(file).certificate
        leaf.verify_directly_issued_by(authority.certificate)
    except (Conflict, ValueError, TypeError, InvalidSignature):
        return False
    names = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    wanted = [reached.name] if reached.name else []
    return (
        names.get_values_for_type(x509.IPAddress) == [reached.address]
        and names.get_values_for_type(x509.DNSName) == wanted
        and leaf.not_valid_before_utc <= now <= leaf.not_valid_after_utc - RENEWED_BEFORE
    )


def _read(file: Path) -> Certified:
    try:
        text = file.read_bytes()
        key = serialization.load_pem_private_key(text, None)
        certificate = x509.load_pem_x509_certificates(text)[0]
        if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
            raise ValueError
        certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    except (ValueError, TypeError, IndexError, x509.ExtensionNotFound) as error:
        raise Conflict(
            "{file} is damaged. Move it away and start again; every phone then has to trust the new authority.",
            file=str(file),
        ) from error
    if os.name != "nt" and file.stat().st_mode & 0o077:
        file.chmod(0o600)
    return Certified(certificate, key)


def _write(file: Path, certified: Certified, *certificates: x509.Certificate) -> None:
    """Write a key and certificates as one file that is whole or not there, and its owner's only from the start."""
    file.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    parts = [
        certified.key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        ),
        *(one.public_bytes(serialization.Encoding.PEM) for one in certificates),
    ]
    unfinished = file.with_name(f".{file.name}.{uuid4().hex[:8]}.unfinished")
    try:
        with open(os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            out.writelines(parts)
            out.flush()
            os.fsync(out.fileno())
        unfinished.replace(file)
        sync_folder(file.parent)
    finally:
        unfinished.unlink(missing_ok=True)
