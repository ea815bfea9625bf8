"""Pages that are no live page, in both languages: nothing from outside, no error, readable, whole; and the demo's.

The live pages are looked at phase by phase in `test_looks.py`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import expect

from app.base.time import utc_now
from app.people.sign_in import store as sign_in
from app.stations import store as stations
from app.stations.values import KINDS
from app.web.sessions import COOKIE
from tests.browser.conftest import INDUCED
from tests.browser.looks import SIZES, by_night, faults, unfold, violations
from tests.browser.server import CHARGE, Server, until

pytestmark = pytest.mark.browser
OpenScreen = Any
PAGES = (
    "/",
    "/inside",
    "/desk",
    "/style",
    "/sign-in",
    "/sign-in/pin",
    "/desk/people-rights",
    "/desk/stations",
    "/desk/registers",
    "/pair",
    "/trust",
    "/diagnostics",
    "/worksheet",
    "/worksheet?case={case}",
    "/nowhere",
)
BUSY = (
    *INDUCED, ("req.new", {"q": "q1", "item": "bougie", "urg": "now"}), ("vitals", {"spo2": 86, "hr": 120}),
    ("scope.start", {"n": 1}),
)  # fmt: skip


@pytest.fixture
def busy(standing: Server) -> Iterator[str]:
    """A case in its airway phase with a request, a low figure and an attempt; closed afterwards."""
    case = standing.new_case()
    standing.say(case, *BUSY)
    yield case
    standing.say(case, ("case.close", {}))


@pytest.mark.parametrize("page", PAGES)
def test_a_page_asks_for_nothing_from_outside_and_is_readable_and_whole(
    standing: Server, busy: str, screen: OpenScreen, page: str
) -> None:
    one, wrong = screen(standing), []
    for language in ("en", "de"):
        speaks(one, standing, language)
        one.page.goto(standing.address + page.format(case=busy), wait_until="load")
        expect(one.page.locator("html")).to_have_attribute("lang", language)
        found = []
        for size in SIZES:
            one.page.set_viewport_size(size)
            found += faults(one.page)[0]
        unfold(one.page)
        found += faults(one.page)[0] + violations(one.page)
        wrong += [f"{language} {each}" for each in (*found, *(by_night(one.page) if language == "en" else ()))]
    assert wrong == []
    assert one.wrong == ([] if page != "/nowhere" else [said for said in one.wrong if "404" in said])


def speaks(one: Any, server: Server, language: str) -> None:
    """Pairs a browser anew as a screen of each kind in a language, somebody signed in at its desk."""
    one.page.goto("about:blank")  # what an open page still asks for would be asked as another screen
    now = utc_now()
    cookies = {
        f"doorside_{kind}": stations.pair(server.engine, kind=kind, label=kind, now=now, language=language)
        for kind in KINDS
    }
    desk = cookies["doorside_desk"].partition(".")[0]
    cookies[COOKIE] = sign_in.begin(server.engine, CHARGE, desk, now)
    one.context.add_cookies(
        [{"name": name, "value": value, "url": server.address, "sameSite": "Strict"} for name, value in cookies.items()]
    )


@pytest.mark.parametrize(
    "page", ["/", "/demo/open/board", "/demo/open/outside", "/demo/open/inside", "/demo/open/desk"]
)
def test_a_page_of_the_demo_is_marked_and_asks_for_nothing_from_outside(
    demo: Server, screen: OpenScreen, page: str
) -> None:
    one = screen(demo)
    opened = one.open(page)
    expect(opened.get_by_text("DRILL", exact=True).first).to_be_visible()
    if page.startswith("/demo"):
        expect(opened.locator("#main button, #main a").first).to_be_visible()
    assert one.wrong == []


def test_the_demo_shows_a_tap_of_the_room_left_to_the_user_on_the_board(demo: Server, screen: OpenScreen) -> None:
    inside, board = screen(demo), screen(demo)
    inside.open("/demo/open/inside")
    board.open("/demo/open/board")
    expect(board.page.locator("#board")).to_contain_text("Room 4")
    expect(board.page.locator("#board")).not_to_contain_text("a thing for room 4")
    case = inside.page.locator("body").get_attribute("data-cases")
    before = len(demo.entries(str(case)))
    inside.button("drug.given", "#next").click()
    expect(inside.page.locator(".link-waiting")).to_be_hidden()
    expect(inside.page.locator("#clock")).to_contain_text("Since induction")
    expect(board.page.locator("#board")).to_contain_text("Since induction")
    assert len(demo.entries(str(case))) == before + 1


def test_the_next_step_is_tapped_by_keyboard_alone(standing: Server, busy: str, screen: OpenScreen) -> None:
    one = screen(standing, "inside")
    page = one.open(f"/inside?case={busy}")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.closest('#next') !== null"):
            break
    kind = page.evaluate("document.activeElement.dataset.kind")
    before = len(standing.entries(busy, kind))
    page.keyboard.press("Enter")
    expect(page.locator("#undo")).to_be_visible()
    until(lambda: len(standing.entries(busy, kind)) == before + 1, "one entry more")
    expect(page.locator(".link-waiting")).to_be_hidden()
