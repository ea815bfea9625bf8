"""A ward's own authority: what it may certify, for how long, who may read its key, and what OpenSSL says to it."""

from __future__ import annotations

import shutil
import stat
import subprocess
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID

from app.base import certificates
from app.base.errors import DoorsideError, NotValid, Unknown

NOW = datetime.now(UTC).replace(microsecond=0)
NAME, ADDRESS = "door.ward.example", "192.0.2.7"


def made(folder: Path, **more: object) -> certificates.Shown:
    return certificates.make(folder, [NAME], [ADDRESS], NOW, **more)  # type: ignore[arg-type]


def server(folder: Path) -> x509.Certificate:
    return x509.load_pem_x509_certificate((folder / "server.crt").read_bytes())


def openssl(*words: str | Path) -> str:
    program = shutil.which("openssl")
    assert program is not None, "these tests ask OpenSSL"
    done = subprocess.run([program, *map(str, words)], capture_output=True, text=True, check=False)
    return done.stdout + done.stderr


@pytest.mark.parametrize("wanted", [("-verify_hostname", NAME), ("-verify_ip", ADDRESS)])
def test_openssl_accepts_the_certificate_for_its_names_when_it_is_strict(
    tmp_path: Path, wanted: tuple[str, str]
) -> None:
    made(tmp_path)
    assert (
        openssl(
            "verify",
            "-x509_strict",
            "-purpose",
            "sslserver",
            "-CAfile",
            tmp_path / "ca.crt",
            *wanted,
            tmp_path / "server.crt",
        )
        .strip()
        .endswith(": OK")
    )


@pytest.mark.parametrize(
    ("names", "addresses"),
    [(["bank.example"], []), ([], ["198.51.100.1"]), ([], ["2001:db8::1"]), ([NAME, "bank.example"], [ADDRESS])],
)
def test_its_authority_cannot_certify_another_server(tmp_path: Path, names: list[str], addresses: list[str]) -> None:
    made(tmp_path)
    authority, key = certificates._read(tmp_path)
    wanted, numbers = certificates.checked(names, addresses)
    certificates._issue(tmp_path, key, authority, wanted, numbers, NOW, 30)
    said = openssl("verify", "-CAfile", tmp_path / "ca.crt", tmp_path / "server.crt")
    assert "permitted subtree violation" in said or "excluded subtree violation" in said


def test_an_authority_of_addresses_alone_certifies_no_name(tmp_path: Path) -> None:
    certificates.make(tmp_path, [], [ADDRESS], NOW)
    authority, key = certificates._read(tmp_path)
    certificates._issue(tmp_path, key, authority, ["bank.example"], [], NOW, 30)
    assert "subtree violation" in openssl("verify", "-CAfile", tmp_path / "ca.crt", tmp_path / "server.crt")


def test_the_servers_certificate_is_what_tablets_ask_for(tmp_path: Path) -> None:
    made(tmp_path)
    one = server(tmp_path)
    assert isinstance(one.signature_hash_algorithm, certificates.SHA256)
    names = one.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert names.get_values_for_type(x509.DNSName) == [NAME]
    assert [str(address) for address in names.get_values_for_type(x509.IPAddress)] == [ADDRESS]
    usage = one.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert one.not_valid_after_utc - one.not_valid_before_utc == timedelta(days=certificates.DAYS)
    assert one.not_valid_before_utc < NOW, "a slow tablet must find it valid"


def test_keys_are_readable_by_their_owner_alone(tmp_path: Path) -> None:
    made(tmp_path / "tls")
    for name in ("ca.key", "server.key"):
        assert stat.S_IMODE((tmp_path / "tls" / name).stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "tls").stat().st_mode) == 0o700
    assert {path.name for path in (tmp_path / "tls").iterdir()} == {"ca.key", "ca.crt", "server.key", "server.crt"}


def test_a_renewal_keeps_the_authority_and_the_names_and_changes_the_key(tmp_path: Path) -> None:
    before = made(tmp_path, days=30)
    kept = {name: (tmp_path / name).read_bytes() for name in ("ca.key", "ca.crt")}
    old = (tmp_path / "server.key").read_bytes()
    after = certificates.renew(tmp_path, NOW, 60)
    assert {name: (tmp_path / name).read_bytes() for name in kept} == kept
    assert (tmp_path / "server.key").read_bytes() != old
    assert (after.names, after.addresses, after.sha256) == (before.names, before.addresses, before.sha256)
    assert after.until - before.until == timedelta(days=30)


def test_no_certificate_outlives_its_authority(tmp_path: Path) -> None:
    shown = made(tmp_path)
    later = NOW + timedelta(days=365 * certificates.CA_YEARS - 10)
    assert certificates.renew(tmp_path, later, 397).until <= shown.ca_until


@pytest.mark.parametrize("days", [0, -1, 826, 10_000])
def test_a_life_that_tablets_refuse_is_refused(tmp_path: Path, days: int) -> None:
    with pytest.raises(NotValid, match="825"):
        made(tmp_path, days=days)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("names", "addresses"),
    [([], []), (["under_score"], []), (["-x"], []), (["a b"], []), (["*.ward"], []), (["x" * 64], []), ([], ["1.2.3"]), ([], ["::zz"])],
)  # fmt: skip
def test_what_no_certificate_can_carry_is_refused(tmp_path: Path, names: list[str], addresses: list[str]) -> None:
    with pytest.raises(NotValid):
        certificates.make(tmp_path, names, addresses, NOW)
    assert list(tmp_path.iterdir()) == []


def test_an_authority_that_tablets_trust_is_not_overwritten(tmp_path: Path) -> None:
    made(tmp_path)
    kept = (tmp_path / "ca.key").read_bytes()
    with pytest.raises(DoorsideError, match="already"):
        made(tmp_path)
    assert (tmp_path / "ca.key").read_bytes() == kept


def test_the_fingerprint_is_the_one_that_a_tablet_shows(tmp_path: Path) -> None:
    said = openssl("x509", "-in", (made(tmp_path), tmp_path / "ca.crt")[1], "-noout", "-fingerprint", "-sha256")
    assert said.partition("=")[2].strip().replace(":", "") == certificates.show(tmp_path).sha256.replace(" ", "")


def test_where_nothing_was_made_that_is_said(tmp_path: Path) -> None:
    for ask in (certificates.show, certificates.authority_der):
        with pytest.raises(Unknown, match="doorside tls make"):
            ask(tmp_path)
    with pytest.raises(Unknown):
        certificates.renew(tmp_path, NOW)
