"""Over https with a ward's own authority: a browser that trusts it gets all that needs a secure page, another gets none."""

from __future__ import annotations

import os
import shutil
import ssl
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Error, Page, expect

from app.base import certificates
from app.base.time import utc_now
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser
NAME = "door.ward.example"
HTTPS = "import os, sys; os.environ['DOORSIDE_TLS'] = 'yes'; from app.cli import main; sys.exit(main(sys.argv[1:]))"
REGISTERS = "navigator.serviceWorker.register('/sw.js').then((found) => found.scope, (error) => String(error))"


class SecureServer(Server):
    """`doorside serve --tls`."""

    @property
    def address(self) -> str:
        return f"https://127.0.0.1:{self.port}"

    @property
    def named(self) -> str:
        return f"https://{NAME}:{self.port}"


@pytest.fixture(scope="module")
def server(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[SecureServer]:
    folder = tmp_path_factory.mktemp("secure")
    certificates.make(folder / "tls", [NAME], ["127.0.0.1"], utc_now())
    url = f"sqlite:///{shutil.copyfile(migrated_sqlite, folder / 'secure.db')}"
    made = SecureServer(url, folder, program=("-c", HTTPS))
    made.pair()
    made.start()
    yield made
    made.stop()


@pytest.fixture
def tls(server: SecureServer) -> Path:
    """Where the server's certificate and its authority lie."""
    return server.folder / "tls"


@pytest.fixture
def open_browser(browser: Browser, tmp_path: Path) -> Iterator[Callable[..., Browser]]:
    """Starts a Chromium with a store of certificates of its own, the given authority in it."""
    made: list[Browser] = []

    def start(authority: Path | None) -> Browser:
        home = tmp_path / f"home{len(made)}"
        store = home / ".pki" / "nssdb"
        store.mkdir(parents=True)
        program = shutil.which("certutil")
        assert program is not None, "this test needs certutil (Debian: libnss3-tools)"
        subprocess.run([program, "-d", f"sql:{store}", "-N", "--empty-password"], check=True)
        if authority is not None:
            trust = ["-A", "-t", "C,,", "-n", "ward", "-i", str(authority)]
            subprocess.run([program, "-d", f"sql:{store}", *trust], check=True)
        own = browser.browser_type.launch(
            executable_path=shutil.which("chromium"),
            args=["--no-sandbox", f"--host-resolver-rules=MAP {NAME} 127.0.0.1, MAP other.example 127.0.0.1"],
            env={**os.environ, "HOME": str(home)},
        )
        made.append(own)
        return own

    yield start
    for own in made:
        own.close()


def paired(browser: Browser, server: SecureServer, kind: str) -> Page:
    context = browser.new_context()
    context.add_cookies(
        [{"name": f"doorside_{kind}", "value": server.cookies[kind], "url": server.named, "sameSite": "Strict"}]
    )
    return context.new_page()


def test_a_tablet_that_trusts_the_authority_may_keep_the_page_and_stay_awake(
    server: SecureServer, open_browser: Callable[..., Browser], tls: Path
) -> None:
    page = paired(open_browser(tls / "ca.crt"), server, "board")
    page.goto(server.named + "/board")
    expect(page.locator("#link")).to_have_attribute("data-state", "live")
    assert page.evaluate("window.isSecureContext") is True
    assert page.evaluate(REGISTERS) == server.named + "/"
    assert page.evaluate("'wakeLock' in navigator && 'locks' in navigator") is True
    expect(page.locator(".plain-http")).to_have_count(0)
    page.goto(server.named + "/diagnostics")
    for check in ("link", "secure", "worker", "store", "clock"):
        expect(page.locator(f'[data-check="{check}"]')).to_have_attribute("data-holds", "true")


def test_a_renewed_certificate_is_served_by_the_running_server_and_open_lines_go_on(
    server: SecureServer, open_browser: Callable[..., Browser], tls: Path
) -> None:
    trusting = open_browser(tls / "ca.crt")
    before = paired(trusting, server, "board")
    before.goto(server.named + "/board")
    expect(before.locator("#link")).to_have_attribute("data-state", "live")
    before.evaluate("window.cuts = 0; document.addEventListener('doorside:link', () => { window.cuts += 1; })")
    old = ssl.get_server_certificate(("127.0.0.1", server.port))
    certificates.renew(tls, utc_now())
    until(lambda: ssl.get_server_certificate(("127.0.0.1", server.port)) != old, "the renewed one", lambda: server.log)
    after = paired(trusting, server, "board")
    after.goto(server.named + "/board")
    expect(after.locator("#link")).to_have_attribute("data-state", "live")
    assert before.evaluate("window.cuts") == 0


def test_a_tablet_that_does_not_trust_it_is_warned(server: SecureServer, open_browser: Callable[..., Browser]) -> None:
    page = open_browser(None).new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(server.named + "/trust")


def test_the_trust_page_hands_out_the_authority_and_shows_its_digits(
    server: SecureServer, open_browser: Callable[..., Browser], tls: Path
) -> None:
    context = open_browser(None).new_context(ignore_https_errors=True)  # the warning was clicked through
    page: Any = context.new_page()
    page.goto(server.named + "/trust")
    digits = page.locator(".fingerprint").inner_text().split()
    assert " ".join(digits) == certificates.show(tls).sha256
    with page.expect_download() as waiting:
        page.locator('a[href="/trust/authority"]').click()
    assert waiting.value.path().read_bytes() == certificates.authority_der(tls)
    refused = page.evaluate(REGISTERS)
    assert "SecurityError" in refused, "a warning that was clicked through is not enough"


def test_the_authority_does_not_make_a_browser_trust_another_name(
    server: SecureServer, open_browser: Callable[..., Browser], tls: Path
) -> None:
    page = open_browser(tls / "ca.crt").new_page()
    with pytest.raises(Error, match="ERR_CERT"):
        page.goto(f"https://other.example:{server.port}/trust")
