"""After any gap each page shows what a page shows that is loaded now, and nothing of it was loaded anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from playwright.sync_api import Browser, CDPSession, Page, expect

from app.web.sessions import COOKIE
from tests.browser.chaos.proxy import Line
from tests.browser.conftest import INDUCED
from tests.browser.server import Server, until
from tests.browser.shown import SHOWN

pytestmark = pytest.mark.browser
MINUTE_MS = 60_000
BURST = 25
CLOCK = """(() => {
  const Real = Date, now = Real.now.bind(Real);
  window.later_ms = 0;
  globalThis.Date = class extends Real {
    constructor(...given) { if (given.length) super(...given); else super(now() + window.later_ms); }
    static now() { return now() + window.later_ms; }
  };
})()"""
"""A clock on the wall that can jump, as it does when a lid is opened; the steady one goes on from where it stood."""

PANELS = f"""() => {{
  const shown = {SHOWN}, found = document.body.dataset.panels.split(' ').map((name) => document.getElementById(name));
  return Object.fromEntries(found.filter((one) => one).map((one) => [one.id, shown(one)]));
}}"""


@dataclass
class Ward:
    """A case on the five kinds of page, each in a browser of its own behind a line that can be harmed."""

    server: Server
    line: Line
    browser: Browser
    case: str = ""
    pages: dict[str, Page] = field(default_factory=dict)
    said: int = 0
    waiting: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.case = self.server.new_case()
        self.server.say(self.case, *INDUCED)
        address = f"http://127.0.0.1:{self.line.port}"
        self.addresses = {
            "inside": f"{address}/inside?case={self.case}", "outside": f"{address}/outside", "board": f"{address}/board",
            "wall": f"{address}/wall/{self.case}", "case": f"{address}/case/{self.case}",
        }  # fmt: skip
        given = {f"doorside_{kind}": cookie for kind, cookie in self.server.cookies.items()}
        self.cookies: Any = [
            {"name": name, "value": value, "url": address, "sameSite": "Strict"}
            for name, value in {**given, COOKIE: self.server.session}.items()
        ]
        for name in self.addresses:
            self.pages[name] = self.a_browser()
            self.load(self.pages[name], name)
            self.pages[name].evaluate("window.notReloaded = true")
        self.fresh = self.a_browser()

    def a_browser(self) -> Page:
        """A page in a new browser that is paired as everything."""
        context = self.browser.new_context(viewport={"width": 1280, "height": 800})
        context.add_cookies(self.cookies)
        context.add_init_script(CLOCK)
        return context.new_page()

    def load(self, page: Page, name: str) -> None:
        page.goto(self.addresses[name])
        expect(page.locator("#link")).to_have_attribute("data-state", "live")

    def say_much(self) -> None:
        """So much happens that a line which nobody reads is full long before the end: each page shows some of it."""
        for _ in range(BURST):
            self.said += 1
            self.waiting.append(f"q{self.said}")
            asked = {"q": f"q{self.said}", "item": f"thing {self.said} for the room", "urg": "now"}
            self.server.say(
                self.case, ("req.new", asked), ("vitals", {"spo2": 80 + self.said % 20, "hr": self.said + 60})
            )

    def shown(self, page: Page) -> dict[str, str]:
        """What a page shows, panel by panel."""
        return dict(page.evaluate(PANELS))

    def are_whole(self) -> None:
        """Every page shows what a fresh one shows, by itself."""
        for name, page in self.pages.items():
            expect(page.locator("#link")).to_have_attribute("data-state", "live")
            self.load(self.fresh, name)
            until(lambda page=page: self.shown(page) == self.shown(self.fresh), f"{name} as it is when loaded now")  # type: ignore[misc]
            assert page.evaluate("window.notReloaded") is True, name
            assert page.locator("body.stale").count() == 0, name
        expect(self.pages["outside"].locator("#requests")).to_contain_text(f"thing {self.said} ")
        self.server.say(self.case, *(("req.cancel", {"q": q, "why": "no longer needed"}) for q in self.waiting))
        self.waiting.clear()


@pytest.fixture(scope="module")
def line(standing: Server) -> Iterator[Line]:
    made = Line(standing.port)
    yield made
    made.stop()


@pytest.fixture(scope="module")
def ward(standing: Server, line: Line, browser: Browser) -> Iterator[Ward]:
    made = Ward(standing, line, browser)
    yield made
    for page in (*made.pages.values(), made.fresh):
        page.context.close()


@pytest.fixture
def asleep(ward: Ward) -> Callable[[str], None]:
    """Puts all pages to sleep as the browser does it (`frozen`), or wakes them (`active`)."""
    talks: list[CDPSession] = [page.context.new_cdp_session(page) for page in ward.pages.values()]

    def state(of: str) -> None:
        for talk in talks:
            talk.send("Page.setWebLifecycleState", {"state": of})

    return state


def later(ward: Ward, by_ms: int) -> None:
    """The clock of every screen has gone on by so much."""
    for page in ward.pages.values():
        page.evaluate(f"window.later_ms += {by_ms}")


def test_a_reader_that_stood_still_for_a_minute_is_brought_up_to_date(ward: Ward) -> None:
    ward.line.hold()
    ward.say_much()
    later(ward, MINUTE_MS)
    ward.line.let_go()
    ward.are_whole()


def test_after_a_server_was_killed_and_started_again_all_pages_are_whole(ward: Ward) -> None:
    ward.server.kill()
    for page in ward.pages.values():
        expect(page.locator("#link")).not_to_have_attribute("data-state", "live")
    ward.server.start()
    ward.say_much()
    ward.are_whole()


def test_after_a_lid_was_shut_for_a_while_all_pages_are_whole(ward: Ward, asleep: Callable[[str], None]) -> None:
    asleep("frozen")
    ward.line.cut()
    ward.say_much()
    later(ward, 8 * MINUTE_MS)  # at ten without a touch a desk signs its person out, and loads anew
    ward.line.mend()
    asleep("active")
    ward.are_whole()
