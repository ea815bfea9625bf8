"""Everything at once: three screens, taps all the while, a server that is killed, a line that breaks, clocks an hour off.

    DOORSIDE_CHAOS_S   how long, in seconds; 25 unless it says otherwise

Then: every tap stored once and in its station's order; each dated within its stated error of the moment at which the
finger came down; and each page, without having been loaded anew, shows what a page shows that is loaded now.
"""

from __future__ import annotations

import os
import random
import time
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from app.case.order import happened_at, known_offsets
from app.journal.entry import Entry
from tests.browser.chaos.proxy import Line
from tests.browser.conftest import INDUCED
from tests.browser.server import Server, until
from tests.browser.shown import SHOWN

pytestmark = [pytest.mark.browser, pytest.mark.crash]
LASTS_S = float(os.environ.get("DOORSIDE_CHAOS_S", "25"))
SEED = int(time.time()) if LASTS_S > 60 else 2026
SKEWS_MS = {"inside": 3_480_000, "outside": -3_120_000, "board": 1_500}
TOUCH_APART_MS = 750
"""A second touch of one button within 0.7 s is no tap of its own."""
SLACK_S = 0.05
"""What this test itself does not know better: it looks at its clock before and after the click, not at the finger."""
SHIFTED = """(() => {
  const by = %d, Real = Date, now = Real.now.bind(Real), add = IDBObjectStore.prototype.add;
  globalThis.Date = class extends Real {
    constructor(...given) { if (given.length) super(...given); else super(now() + by); }
    static now() { return now() + by; }
  };
  IDBObjectStore.prototype.add = function kept(row) {
    localStorage.made = JSON.stringify([...JSON.parse(localStorage.made ?? '[]'), row.tap.id]);
    return add.call(this, row);
  };
})()"""
"""A clock that is off, and a list of the taps that the page has made, kept beside its outbox."""


class Screen:
    """One paired browser with a clock of its own, and when its taps were made by the true clock."""

    def __init__(self, browser: Browser, server: Server, address: str, kind: str, path: str) -> None:
        self.kind, self.url = kind, address + path
        self.context: BrowserContext = browser.new_context(viewport={"width": 1280, "height": 800})
        cookie: Any = {"name": f"doorside_{kind}", "value": server.cookies[kind], "url": address, "sameSite": "Strict"}
        self.context.add_cookies([cookie])
        self.context.add_init_script(SHIFTED % SKEWS_MS[kind])
        self.station = server.cookies[kind].partition(".")[0]
        self.page: Page = self.context.new_page()
        self.page.goto(self.url)
        self.tapped: list[tuple[float, float]] = []

    def tap(self, where: str) -> bool:
        """Taps the first visible button there, if there is one."""
        button = self.page.locator(where).locator("visible=true").first
        made, before = self.made(), time.time()
        try:
            button.click(timeout=400)
        except Exception:  # none there just now, or it was redrawn under the finger: nobody tapped
            if self.made() == made:
                return False
        until(lambda: (self.page.wait_for_timeout(5), len(self.made()) > len(made))[1], f"a tap of {where}")
        self.tapped.append((before, time.time()))
        self.page.wait_for_timeout(TOUCH_APART_MS)
        return True

    def made(self) -> list[str]:
        """Ids of its taps, in order."""
        found = self.page.evaluate("JSON.parse(localStorage.made ?? '[]')")
        return list(found)

    def shown(self, page: Page) -> dict[str, str]:
        """What a page shows, panel by panel."""
        names = str(page.locator("body").get_attribute("data-panels")).split()
        return {name: page.locator(f"#{name}").evaluate(SHOWN) for name in names if page.locator(f"#{name}").count()}


class Chaos:
    """The acts, chosen by chance."""

    def __init__(self, server: Server, line: Line, screens: dict[str, Screen]) -> None:
        self.server, self.line, self.screens = server, line, screens
        self.chance = random.Random(SEED)
        self.count: dict[str, int] = {}

    def begin(self) -> None:
        """Each kind of harm once, however short the time is."""
        for act in (self.tap_inside, self.cut, self.kill, self.stall, self.reload, self.off_the_air, self.tap_outside):
            self.do(act)

    def do(self, act: Callable[[], object]) -> None:
        if act() is not False:
            self.count[act.__name__] = self.count.get(act.__name__, 0) + 1

    def act(self) -> None:
        acts = (
            (self.tap_inside, 10), (self.tap_outside, 5), (self.kill, 1), (self.cut, 2), (self.slow, 1),
            (self.stall, 1), (self.off_the_air, 1), (self.reload, 1),
        )  # fmt: skip
        self.do(self.chance.choices([one for one, _ in acts], [weight for _, weight in acts])[0])

    def tap_inside(self) -> bool:
        return self.screens["inside"].tap(
            self.chance.choice(
                (
                    "#next .tap-next",
                    "#next .instead button",
                    '#asks .choices [data-kind="req.new"]',
                    '#asks [data-kind="req.got"]',
                )
            )
        )

    def tap_outside(self) -> bool:
        return self.screens["outside"].tap(
            self.chance.choice(('#requests [data-kind="req.ack"]', '#requests [data-kind="req.in"]', "#maybe .tap"))
        )

    def kill(self) -> None:
        self.server.kill()
        self.wait(0.2, 2)
        self.server.start()

    def cut(self) -> None:
        self.line.cut()
        for _ in range(self.chance.randint(1, 3)):
            self.tap_inside()
        self.wait(0.2, 3)
        self.line.mend()

    def slow(self) -> None:
        self.line.delay_s = self.chance.choice((0, 0.03, 0.2))

    def stall(self) -> None:
        self.line.hold()
        self.tap_inside()
        self.wait(0.2, 3)
        self.line.let_go()

    def off_the_air(self) -> None:
        self.screens["inside"].context.set_offline(True)
        self.tap_inside()
        self.wait(0.2, 2)
        self.screens["inside"].context.set_offline(False)

    def reload(self) -> None:
        self.screens["inside"].page.reload()

    def wait(self, least_s: float, most_s: float) -> None:
        self.screens["inside"].page.wait_for_timeout(1000 * self.chance.uniform(least_s, most_s))


@pytest.fixture
def server(sqlite_url: str, tmp_path: Path) -> Iterator[Server]:
    """`doorside serve` with a station of each kind."""
    made = Server(sqlite_url, tmp_path)
    made.pair()
    made.start()
    yield made
    made.stop()


@pytest.fixture
def line(server: Server) -> Iterator[Line]:
    """What the screens reach the server by."""
    made = Line(server.port)
    yield made
    made.stop()


def within_its_error(entries: list[Entry], screen: Screen) -> list[tuple[float, float]]:
    """Holds each corrected time against the true one; gives the true error of each tap and the stated one [s].

    The true one is how far the time lies outside what this test saw: its clock before and after the click.
    """
    offsets, errors = known_offsets(entries), []
    for entry, (before, after) in zip(entries, screen.tapped, strict=True):
        at: datetime = happened_at(entry, offsets)[0]
        later = (
            one.tap.error_ms for one in entries if one.tap.counter >= entry.tap.counter and one.tap.error_ms is not None
        )
        error_s = (entry.tap.error_ms if entry.tap.error_ms is not None else next(later, 1000.0)) / 1000
        true_s = max(before - at.timestamp(), at.timestamp() - after, 0.0)
        assert true_s <= error_s + SLACK_S, entry.tap
        errors.append((true_s, error_s))
    return errors


def test_after_chaos_every_tap_is_stored_once_and_every_page_shows_the_same(
    server: Server, line: Line, browser: Browser
) -> None:
    address, case = f"http://127.0.0.1:{line.port}", server.new_case()
    server.say(case, *INDUCED)
    paths = {"inside": f"/inside?case={case}", "outside": "/outside", "board": "/board"}
    screens = {kind: Screen(browser, server, address, kind, path) for kind, path in paths.items()}
    for one in screens.values():
        expect(one.page.locator("#link")).to_have_attribute("data-state", "live")
    kept = "async () => { await navigator.serviceWorker.ready; return (await (await caches.open('pictures')).keys()).length > 0; }"
    until(lambda: screens["inside"].page.evaluate(kept), "the inside page's picture")
    chaos = Chaos(server, line, screens)
    end = time.monotonic() + LASTS_S
    chaos.begin()
    while time.monotonic() < end:
        chaos.act()
    line.delay_s = 0
    for one in screens.values():
        expect(one.page.locator("#link")).to_have_attribute("data-state", "live", timeout=60_000)
        expect(one.page.locator(".link-waiting")).to_be_hidden(timeout=60_000)
    errors: list[tuple[float, float]] = []
    for one in screens.values():
        entries = [entry for entry in server.entries(case) if entry.tap.station == one.station]
        assert [entry.tap.id for entry in sorted(entries, key=lambda entry: entry.tap.counter)] == one.made()
        assert [entry.tap.counter for entry in entries] == list(range(1, len(entries) + 1)), one.kind
        errors += within_its_error(entries, one)
    fresh = {kind: Screen(browser, server, address, kind, path) for kind, path in paths.items()}
    for kind, one in screens.items():
        expect(fresh[kind].page.locator("#link")).to_have_attribute("data-state", "live")
        until(
            lambda one=one, kind=kind: one.shown(one.page) == one.shown(fresh[kind].page),
            f"{kind} as a fresh page shows it",
        )  # type: ignore[misc]
    taps = {kind: len(one.tapped) for kind, one in screens.items()}
    true_s, stated_s = (max(column) for column in zip(*errors, strict=True))
    print(
        f"chaos: {LASTS_S:.0f} s, seed {SEED}, {len(errors)} taps {taps} all stored once, acts {chaos.count}, "
        f"largest true error {true_s:.3f} s, largest stated {stated_s:.3f} s"
    )
    assert taps["inside"] > 3
    for one in (*screens.values(), *fresh.values()):
        one.context.close()
