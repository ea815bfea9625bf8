"""A certificate that is renewed under a running server, and one that runs out soon."""

from __future__ import annotations

import logging
import socket
import ssl
import threading
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509

from app.base import certificates
from app.base.time import utc_now
from app.web.certificate import Certificate
from tests.app.web.house import House

ADDRESS = "127.0.0.1"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    certificates.make(tmp_path / "tls", ["door.example"], [ADDRESS], utc_now())
    return tmp_path / "tls"


@pytest.fixture
def context(folder: Path) -> ssl.SSLContext:
    made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    made.load_cert_chain(folder / "server.crt", folder / "server.key")
    return made


@pytest.fixture
def handed_out(folder: Path, context: ssl.SSLContext) -> Iterator[Callable[[], int]]:
    """Opens a connection as a tablet that trusts the authority does; gives the serial number of what it was shown."""
    listener = socket.create_server((ADDRESS, 0))

    def answer() -> None:
        while True:
            try:
                accepted, _ = listener.accept()
            except OSError:
                return
            with accepted, context.wrap_socket(accepted, server_side=True) as line:
                line.recv(1)

    def ask() -> int:
        trusting = ssl.create_default_context(cafile=folder / "ca.crt")
        with (
            socket.create_connection(listener.getsockname()) as line,
            trusting.wrap_socket(line, server_hostname=ADDRESS) as secured,
        ):
            shown = secured.getpeercert(binary_form=True)
            secured.send(b".")
        assert shown is not None
        return x509.load_der_x509_certificate(shown).serial_number

    thread = threading.Thread(target=answer)
    thread.start()
    yield ask
    listener.shutdown(socket.SHUT_RDWR)
    listener.close()
    thread.join()


def serial(folder: Path) -> int:
    return x509.load_pem_x509_certificate((folder / "server.crt").read_bytes()).serial_number


def test_a_renewed_certificate_is_served_without_a_new_start(
    folder: Path, context: ssl.SSLContext, handed_out: Callable[[], int]
) -> None:
    certificate = Certificate(folder)
    certificate.serving()
    old = serial(folder)
    certificates.renew(folder, utc_now())
    assert handed_out() == old != serial(folder)
    certificate.look(context)
    assert handed_out() == serial(folder)


def test_while_only_one_of_the_two_files_is_new_the_old_pair_is_served(
    folder: Path, context: ssl.SSLContext, handed_out: Callable[[], int]
) -> None:
    certificate = Certificate(folder)
    certificate.serving()
    old, before = serial(folder), (folder / "server.crt").read_bytes()
    certificates.renew(folder, utc_now())
    after = (folder / "server.crt").read_bytes()
    (folder / "server.crt").write_bytes(before)
    certificate.look(context)
    assert handed_out() == old
    (folder / "server.crt").write_bytes(after)
    certificate.look(context)
    assert handed_out() == serial(folder) != old


@pytest.fixture
def said() -> Iterator[list[str]]:
    """What the log says from now on."""
    lines: list[str] = []

    class Kept(logging.Handler):
        def emit(self, record: logging.LogRecord) -> None:
            lines.append(record.getMessage())

    logger, handler = logging.getLogger("doorside"), Kept()
    logger.addHandler(handler)
    yield lines
    logger.removeHandler(handler)


def test_from_thirty_days_before_the_end_the_log_says_so_once_a_day(
    folder: Path, context: ssl.SSLContext, said: list[str]
) -> None:
    until = certificates.show(folder).until
    now: list[datetime] = [until - timedelta(days=31)]
    certificate = Certificate(folder, lambda: now[0])
    certificate.serving()
    assert certificate.ends is None
    for days in (29.9, 29.8, 28.8):
        now[0] = until - timedelta(days=days)
        certificate.look(context)
    assert certificate.ends == until
    assert [line for line in said if "doorside tls renew" in line] == said
    assert len(said) == len({(until - timedelta(days=days)).date() for days in (29.9, 29.8, 28.8)})


@pytest.mark.anyio
async def test_the_desk_says_until_when_and_no_other_screen_does(house: House, folder: Path) -> None:
    certificates.renew(folder, utc_now(), days=20)
    certificate = house.app.state.certificate = Certificate(folder)
    certificate.serving()
    desk = await house.client.get("/desk", headers=house.as_("desk"))
    assert "certificate runs out on" in desk.text
    assert "doorside tls renew" in desk.text
    assert "certificate runs out" not in (await house.client.get("/board", headers=house.as_("board"))).text
    certificates.renew(folder, utc_now())
    certificate.serving()
    assert "certificate runs out" not in (await house.client.get("/desk", headers=house.as_("desk"))).text
