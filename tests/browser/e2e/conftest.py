"""Scenarios played through the pages of a real server, and the same played straight into a journal."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Request, Route, expect

from app.base.database import migrate, open_engine
from app.cli.replay import played
from app.drill import outcome as judged
from app.drill.department import Staff
from app.drill.register import register
from app.drill.scenario import read_file
from app.drill.values import Scenario
from app.journal.keys import ServerKey, open_key
from tests.browser.e2e.clock_server import CLOCK
from tests.browser.e2e.finger import Finger
from tests.browser.e2e.player import HALF, Player, Screens, open_page
from tests.browser.server import PATIENCE_S, Server

SCENARIOS = Path(__file__).parents[2] / "scenarios"
ROOM = {"id": "room-4", "name": "Room 4"}
Browser = Any


@dataclass
class Played:
    """A scenario twice: through pages and by `doorside replay`."""

    player: Player
    by_pages: judged.Outcome
    by_replay: judged.Outcome


@pytest.fixture
def play(
    sqlite_url: str, tmp_path: Path, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Callable[..., Played]]:
    """Plays the scenario whose file's name begins so. words: what the file says -> what the protocol says."""
    opened: list[BrowserContext] = []
    servers: list[Server] = []

    def play_one(name: str, words: Mapping[str, str] = MappingProxyType({}), hand: type[Finger] = Finger) -> Played:
        scenario = read_file(next(SCENARIOS.glob(f"{name}*.scenario")))
        clock = tmp_path / "clock"
        opening = scenario.cases["A"].t0
        clock.write_text((opening + HALF).isoformat(), "utf-8")
        server = _server(sqlite_url, tmp_path, clock, scenario, monkeypatch)
        servers.append(server)
        screens, case = _open(browser, server, scenario, opening, opened, hand)
        player = Player(scenario, server, clock, case, screens, words)
        player.play(sorted(scenario.acts[1:], key=lambda act: act.at))
        by_pages = player.outcome(open_key(tmp_path / "server.key").public, monkeypatch.setattr)
        monkeypatch.undo()
        return Played(player, by_pages, _replayed(scenario, tmp_path))

    yield play_one
    for context in opened:
        context.close()
    for server in servers:
        server.stop()


def _server(url: str, folder: Path, clock: Path, scenario: Scenario, monkeypatch: pytest.MonkeyPatch) -> Server:
    """A server on the test's clock, with the file's people and room in its registers."""
    monkeypatch.setenv("E2E", "1")
    os.environ[CLOCK] = str(clock)
    opening = scenario.cases["A"].t0
    monkeypatch.setattr("tests.browser.server.utc_now", lambda: opening)
    server = Server(url, folder, program=("-m", "tests.browser.e2e.clock_server"))
    people = [Staff(member.handle, member.facts) for member in scenario.staff.values()]
    register(server.engine, people, [{**scenario.cases["A"].room, **ROOM}])
    server.pair()
    server.start()
    return server


def _open(
    browser: Browser,
    server: Server,
    scenario: Scenario,
    opening: datetime,
    opened: list[BrowserContext],
    hand: type[Finger] = Finger,
) -> tuple[Screens, str]:
    """Opens the case at the desk, then the three pages of it, each in a browser of its own."""
    compared = Compared()
    desk = _page(browser, server, "desk", opening, opened, compared)
    open_page(desk, server.address + "/desk")
    open_case(hand(desk), scenario.acts[0].body | scenario.cases["A"].opening | {"room": ROOM["id"]})
    case = desk.url.rpartition("/")[2]
    inside = _page(browser, server, "inside", opening, opened, compared)
    outside = _page(browser, server, "outside", opening, opened, compared)
    open_page(inside, f"{server.address}/inside?case={case}")
    open_page(outside, server.address + "/outside")
    compared.end()
    return Screens(hand(inside), hand(outside), hand(desk)), case


def open_case(desk: Finger, said: Mapping[str, Any]) -> None:
    """Opens a case with the form of the desk's page."""
    form = desk.page.locator("#new-case").element_handle()
    for name, value in said.items():
        desk.fill(form, name, value)
    desk.submit(form)
    expect(desk.page.locator("#record")).to_be_visible()


class Compared:
    """The screens' questions for the server's time: answered while nobody moves the clocks, never while a test does.

    So every screen knows its clock as one that was set up at the desk, and no question has one clock's time in it and
    the other's in its answer.
    """

    def __init__(self, *, in_silence: bool = False) -> None:
        """in_silence: a question is answered with nothing; a page that reloads when it is answered needs it to fail."""
        self.open, self.under_way, self.pages, self.in_silence = True, 0, list[Page](), in_silence

    def watch(self, page: Page) -> None:
        self.pages.append(page)
        page.route("**/api/time", self._answer)
        page.on("request", lambda request: self._count(request, 1))
        page.on("requestfinished", lambda request: self._count(request, -1))
        page.on("requestfailed", lambda request: self._count(request, -1))

    def _answer(self, route: Route) -> None:
        if self.open:
            route.continue_()
        elif self.in_silence:
            route.fulfill(body="null", content_type="application/json")
        else:
            route.abort()

    def _count(self, request: Request, by: int) -> None:
        self.under_way += by if request.url.endswith("/api/time") else 0

    def end(self) -> None:
        """Waits until every screen knows its clock and no question is under way."""
        for page in self.pages:
            while page.evaluate(KNOWN) is None:
                page.wait_for_timeout(20)
        self.open = False
        while self.under_way:
            self.pages[0].wait_for_timeout(20)


KNOWN = """() => import(new URL('clock_offset.js', document.querySelector('script[type="module"]').src).href)
  .then((module) => module.knowledge().offset_ms)"""


def _page(
    browser: Browser, server: Server, kind: str, opening: datetime, opened: list[BrowserContext], compared: Compared
) -> Page:
    """A browser paired as one kind of station, its clock at the case's beginning."""
    context = browser.new_context(
        viewport={"width": 1280, "height": 800}, has_touch=kind == "inside", service_workers="block"
    )
    opened.append(context)
    cookies = [part.partition("=") for part in server.proof(kind)["cookie"].split("; ")]
    context.add_cookies(
        [{"name": name, "value": value, "url": server.address, "sameSite": "Strict"} for name, _, value in cookies]
    )
    context.add_init_script(
        "addEventListener('keydown', () => sessionStorage.setItem('keys', 1 + Number(sessionStorage.getItem('keys'))), true)"
    )
    page: Page = context.new_page()
    page.set_default_timeout(PATIENCE_S * 1000)
    page.clock.set_fixed_time(opening + HALF)
    compared.watch(page)
    return page


def _replayed(scenario: Scenario, folder: Path) -> judged.Outcome:
    url = f"sqlite:///{folder}/replayed.db"
    migrate(url)
    engine = open_engine(url)
    try:
        return played(scenario, engine, ServerKey.generate())
    finally:
        engine.dispose()
