"""Headless Chromium, a server to look at, and screens that notice what a page may not do."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Request, expect, sync_playwright

from app.web.sessions import COOKIE
from tests.browser.server import PATIENCE_S, Server

NOTHING_OUTSIDE = "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
"""Every request to another host fails; a `Screen` notices that one was made."""
OPENED = (
    ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", "age": "adult"}),
    ("role.assign", {"TL": "Ada", "AO": "Bea", "DR": "Cy"}),
    ("don.start", {"p": "Bea", "ens": "airborne"}),
    ("room.in", {"p": "Bea"}),
    ("monitor.on", {"capno": "waveform"}),
    ("preox.start", {}),
)
INDUCED = (*OPENED, ("drug.given", {"class": "induction"}), ("drug.given", {"class": "relaxant"}))

expect.set_options(timeout=PATIENCE_S * 1000)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium, once a session."""
    with sync_playwright() as playwright:
        chromium = shutil.which("chromium")
        assert chromium is not None, "the browser tests need Chromium"
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", NOTHING_OUTSIDE])
        yield browser
        browser.close()


@pytest.fixture
def server(sqlite_url: str, tmp_path: Path) -> Iterator[Server]:
    """`doorside serve` with a station of each kind."""
    made = Server(sqlite_url, tmp_path)
    made.pair()
    made.start()
    yield made
    made.stop()


@pytest.fixture(scope="module")
def standing(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """As `server`, one for all tests of a file: for those that look and change nothing but cases of their own."""
    folder = tmp_path_factory.mktemp("standing")
    made = Server(f"sqlite:///{shutil.copyfile(migrated_sqlite, folder / 'standing.db')}", folder)
    made.pair()
    made.start()
    yield made
    made.stop()


@pytest.fixture(scope="module")
def demo(migrated_sqlite: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """`doorside demo`, alive."""
    folder = tmp_path_factory.mktemp("demo")
    made = Server(f"sqlite:///{shutil.copyfile(migrated_sqlite, folder / 'demo.db')}", folder, "demo")
    made.start()
    yield made
    made.stop()


@pytest.fixture
def case(server: Server) -> str:
    """A case with its crew inside and oxygen on."""
    case = server.new_case()
    server.say(case, *OPENED)
    return case


class Screen:
    """A browser of its own. `wrong` gathers what a page may not do: errors, refusals of its policy, outside requests."""

    def __init__(self, context: BrowserContext, address: str) -> None:
        self.context, self.address = context, address
        self.wrong: list[str] = []
        context.add_init_script(
            "addEventListener('securitypolicyviolation', (e) => console.error('policy refused', e.violatedDirective, e.blockedURI))"
        )
        self.page: Page = context.new_page()
        self.page.on(
            "console", lambda message: self.wrong.append(message.text) if message.type in ("error", "warning") else None
        )
        self.page.on("pageerror", lambda error: self.wrong.append(str(error)))
        context.on("request", self._own_only)

    def _own_only(self, request: Request) -> None:
        if not request.url.startswith((self.address + "/", "data:")):
            self.wrong.append(f"asked for {request.url}")

    def open(self, path: str) -> Page:
        """Opens a page and waits until its line to the server stands, if it has one."""
        self.page.goto(self.address + path)
        if self.page.locator("#link").count():
            expect(self.page.locator("#link")).to_have_attribute("data-state", "live")
        return self.page

    def button(self, kind: str, within: str = "#main") -> Any:
        """The first visible button that makes entries of a kind."""
        return self.page.locator(f'{within} button.tap[data-kind="{kind}"]:visible').first


OpenScreen = Callable[..., Screen]


@pytest.fixture
def screen(browser: Browser) -> Iterator[OpenScreen]:
    """Opens a browser of its own on a server: `screen(server, "inside")`, cookies as paired."""
    contexts: list[BrowserContext] = []

    def open_one(server: Server, *kinds: str, **options: Any) -> Screen:
        options.setdefault("viewport", {"width": 1280, "height": 800})
        context = browser.new_context(**options)
        contexts.append(context)
        context.add_cookies(
            [
                {"name": f"doorside_{kind}", "value": server.cookies[kind], "url": server.address, "sameSite": "Strict"}
                for kind in kinds
            ]
        )
        if "desk" in kinds and server.session:
            context.add_cookies(
                [{"name": COOKIE, "value": server.session, "url": server.address, "sameSite": "Strict"}]
            )
        return Screen(context, server.address)

    yield open_one
    for context in contexts:
        context.close()
