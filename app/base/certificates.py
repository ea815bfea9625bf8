"""A private certificate authority for one ward and a server certificate under it, as files in one folder.

    ca.key      the authority's key; it signs renewals and nothing else; readable by the server's user alone
    ca.crt      the authority itself: what a tablet is told to trust
    server.key  the server's key; readable by the server's user alone
    server.crt  the server's certificate, the authority's behind it

A tablet that trusts this authority trusts it for the names and addresses given here and for nothing else: they stand
in it as name constraints (RFC 5280, 4.2.1.10). So whoever steals its key cannot pose as another site.
"""

from __future__ import annotations

import ipaddress
import os
import re
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, load_pem_private_key
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from app.base.errors import DoorsideError, NotValid, Unknown

DAYS, DAYS_MOST = 397, 825
"""Life of a server certificate [d]. iOS and iPadOS refuse one of a private authority that lives beyond 825 days."""
REMIND_DAYS = 30
"""So long before its end a certificate is to be renewed."""
CA_YEARS = 10
BACKDATED = timedelta(hours=1)
"""A tablet's clock may be slow: a certificate that begins only now would not be valid there yet."""
_NAME = re.compile(r"(?=.{1,253}\Z)[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?(?:\.[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?)*")

Address = ipaddress.IPv4Address | ipaddress.IPv6Address


@dataclass(frozen=True, slots=True)
class Shown:
    """What a person may want to know about the files. sha256: the authority's fingerprint, in groups of four digits."""

    names: tuple[str, ...]
    addresses: tuple[str, ...]
    until: datetime
    ca_until: datetime
    sha256: str


def checked(names: Sequence[str], addresses: Sequence[str]) -> tuple[list[str], list[Address]]:
    """Names and addresses that a certificate can carry. Raises NotValid for the first that it cannot, or for none."""
    read: list[Address] = []
    for name in names:
        if not _NAME.fullmatch(name.lower()):
            raise NotValid(
                f"{name[:80]!r} is no host name.", holds="Nothing was made.", do="Write it like door.ward.example."
            )
    for address in addresses:
        try:
            read.append(ipaddress.ip_address(address))
        except ValueError:
            raise NotValid(f"{address[:80]!r} is no IP address.", holds="Nothing was made.") from None
    if not names and not read:
        raise NotValid(
            "A certificate needs a name or an address.",
            holds="Nothing was made.",
            do="Give what tablets will call this server: --name or --address, as often as needed.",
        )
    return [name.lower() for name in names], read


def make(folder: Path, names: Sequence[str], addresses: Sequence[str], now: datetime, days: int = DAYS) -> Shown:
    """A new authority and a server certificate. Raises NotValid for what cannot be, DoorsideError when one is there."""
    wanted, numbers = checked(names, addresses)
    _days(days)
    if (folder / "ca.key").exists():
        raise DoorsideError(
            "There is an authority already.",
            holds="Nothing was changed: the tablets that trust it go on trusting it.",
            do="Renew the server's certificate with `doorside tls renew`, or move that folder away first.",
        )
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    key = ec.generate_private_key(ec.SECP256R1())
    authority = _authority(key, wanted, numbers, now)
    _write(folder / "ca.key", _pem(key), 0o600)
    _write(folder / "ca.crt", authority.public_bytes(Encoding.PEM), 0o644)
    return _issue(folder, key, authority, wanted, numbers, now, days)


def renew(folder: Path, now: datetime, days: int = DAYS) -> Shown:
    """A new server key and certificate for the same names, under the same authority: no tablet has to be told."""
    _days(days)
    authority, key = _read(folder)
    server = x509.load_pem_x509_certificate((folder / "server.crt").read_bytes())
    names, addresses = _alternatives(server)
    return _issue(folder, key, authority, list(names), list(addresses), now, days)


def show(folder: Path) -> Shown:
    """What lies in a folder. Raises Unknown when nothing was made there."""
    try:
        authority = x509.load_pem_x509_certificate((folder / "ca.crt").read_bytes())
        server = x509.load_pem_x509_certificate((folder / "server.crt").read_bytes())
    except (FileNotFoundError, ValueError) as error:
        raise _nothing() from error
    names, addresses = _alternatives(server)
    digits = authority.fingerprint(SHA256()).hex().upper()
    groups = " ".join(digits[at : at + 4] for at in range(0, len(digits), 4))
    return Shown(names, tuple(map(str, addresses)), server.not_valid_after_utc, authority.not_valid_after_utc, groups)


def ends_soon(shown: Shown, now: datetime) -> bool:
    """Whether the server's certificate is to be renewed now."""
    return shown.until - now < timedelta(days=REMIND_DAYS)


def authority_der(folder: Path) -> bytes:
    """The authority as tablets take it in. Raises Unknown when nothing was made."""
    try:
        return x509.load_pem_x509_certificate((folder / "ca.crt").read_bytes()).public_bytes(Encoding.DER)
    except (FileNotFoundError, ValueError) as error:
        raise _nothing() from error


def _nothing() -> Unknown:
    return Unknown("No certificate was made here yet.", do="Make one with `doorside tls make --name …`.")


def _days(days: int) -> None:
    if not 1 <= days <= DAYS_MOST:
        raise NotValid(
            f"A server certificate may live 1 to {DAYS_MOST} days, not {days}.",
            holds="Nothing was made.",
            do=f"Tablets refuse longer ones; {DAYS} is a good choice.",
        )


def _named(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _general(names: Sequence[str], addresses: Sequence[Address]) -> list[x509.GeneralName]:
    return [*(x509.DNSName(name) for name in names), *(x509.IPAddress(address) for address in addresses)]


def _authority(
    key: ec.EllipticCurvePrivateKey, names: Sequence[str], addresses: Sequence[Address], now: datetime
) -> x509.Certificate:
    subject = _named(f"Doorside on this ward, {now:%Y-%m-%d}")
    permitted: list[x509.GeneralName] = [x509.DNSName(name) for name in names]
    permitted += [x509.IPAddress(ipaddress.ip_network(address)) for address in addresses]
    # A kind of name that is not mentioned at all would be free: with names alone, no address may be certified.
    excluded: list[x509.GeneralName] = [] if names else [x509.DNSName("")]
    if not any(address.version == 4 for address in addresses):
        excluded.append(x509.IPAddress(ipaddress.ip_network("0.0.0.0/0")))
    if not any(address.version == 6 for address in addresses):
        excluded.append(x509.IPAddress(ipaddress.ip_network("::/0")))
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(now + timedelta(days=365 * CA_YEARS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, excluded or None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, SHA256())
    )


def _issue(
    folder: Path,
    ca_key: ec.EllipticCurvePrivateKey,
    authority: x509.Certificate,
    names: Sequence[str],
    addresses: Sequence[Address],
    now: datetime,
    days: int,
) -> Shown:
    key = ec.generate_private_key(ec.SECP256R1())
    until = min(now + timedelta(days=days), authority.not_valid_after_utc)
    server = (
        x509.CertificateBuilder()
        .subject_name(_named(names[0] if names else str(addresses[0])))
        .issuer_name(authority.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(until - BACKDATED)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(_general(names, addresses)), critical=False)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(
                authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
            ),
            critical=False,
        )
        .sign(ca_key, SHA256())
    )
    _write(folder / "server.key", _pem(key), 0o600)
    _write(folder / "server.crt", server.public_bytes(Encoding.PEM) + authority.public_bytes(Encoding.PEM), 0o644)
    return show(folder)


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs, content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, key_cert_sign=signs, crl_sign=signs, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _read(folder: Path) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    try:
        authority = x509.load_pem_x509_certificate((folder / "ca.crt").read_bytes())
        key = load_pem_private_key((folder / "ca.key").read_bytes(), password=None)
    except FileNotFoundError as error:
        raise _nothing() from error
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise DoorsideError("The authority's key is of another kind.", do="Put the right file back.")
    return authority, key


def _alternatives(server: x509.Certificate) -> tuple[tuple[str, ...], tuple[Address, ...]]:
    value = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    addresses = value.get_values_for_type(x509.IPAddress)
    known = tuple(one for one in addresses if isinstance(one, ipaddress.IPv4Address | ipaddress.IPv6Address))
    return tuple(value.get_values_for_type(x509.DNSName)), known


def _write(path: Path, text: bytes, mode: int) -> None:
    """Whole or not at all, and never readable by others for a moment."""
    handle, aside = tempfile.mkstemp(dir=path.parent, prefix=".tls-")  # mkstemp makes files of mode 600
    with os.fdopen(handle, "wb") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    os.chmod(aside, mode)
    os.replace(aside, path)
