"""A tablet is paired by code or by picture, revoked with taps on it, and paired again; none of its taps is lost."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from app.base.time import utc_now
from app.rooms import store as rooms
from app.rooms.tables import Room
from app.stations import store as stations
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser
OpenScreen = Any


@pytest.fixture
def make_code(server: Server, screen: OpenScreen) -> Callable[..., str]:
    """Makes a code at the desk: `make_code(kind, label, serves)`; gives what the desk shows, without its gap."""
    desk = screen(server, "desk")

    def make(kind: str = "inside", label: str = "Tablet 2", serves: str = "all") -> str:
        page = desk.open("/desk/stations")
        page.locator("select[name=kind]").select_option(kind)
        page.locator("input[name=label]").fill(label)
        page.locator("select[name=serves]").select_option(serves)
        page.get_by_role("button", name="Make a code").click()
        expect(page.locator("#code .qr svg")).to_be_visible()
        assert desk.wrong == []
        return str(page.locator("#code .code").inner_text()).replace(" ", "")

    return make


def type_code(page: Page, code: str) -> None:
    """Types a code with the large keys, as a glove does."""
    for letter in code:
        page.locator(f'.key[data-key="{letter}"]').click()


def ask(page: Page, nth: int) -> str:
    """Asks the door for one of the things on offer, each another; gives its name."""
    button = page.locator('#asks button.tap[data-kind="req.new"]:visible').nth(nth)
    item = str(json.loads(str(button.get_attribute("data-body")))["item"])
    button.click()
    return item


def revoke(server: Server, screen: OpenScreen) -> Page:
    """Ends the inside station's pairing at the desk; gives the desk's page."""
    page = screen(server, "desk").open("/desk/stations")
    line = page.locator("#station-list li", has_text="The inside")
    line.locator("summary").click()
    line.get_by_role("button", name=re.compile("End the pairing")).click()
    expect(page.locator("#station-list li", has_text="The inside")).to_contain_text("revoked")
    return page


def test_a_tablet_is_paired_with_the_code_and_large_keys(
    server: Server, make_code: Callable[..., str], screen: OpenScreen
) -> None:
    code = make_code("outside", "Door 4")
    tablet = screen(server)
    page = tablet.open("/pair")
    for key in page.locator(".key").all():
        box = key.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 57
    type_code(page, code[:2] + "9")
    page.locator(".key-back").click()
    type_code(page, code[2:])
    expect(page).to_have_url(server.address + "/outside")
    expect(page.locator("#link")).to_have_attribute("data-state", "live")
    assert tablet.wrong == []
    (cookie,) = tablet.context.cookies()
    assert (cookie["httpOnly"], cookie["sameSite"]) == (True, "Strict")


def test_the_scanned_picture_pairs_by_itself_and_its_code_stays_nowhere(
    server: Server, make_code: Callable[..., str], screen: OpenScreen
) -> None:
    code, tablet, asked = make_code("board", "Wall"), screen(server), []
    tablet.context.on("request", lambda request: asked.append(request.url))
    page = tablet.page
    page.goto(f"{server.address}/pair#{code}")
    expect(page).to_have_url(server.address + "/board")
    assert not [url for url in asked if code in url], "no server and no log sees it in an address"
    page.go_back()
    expect(page).not_to_have_url(re.compile(code))


def test_wrong_codes_are_told_in_words_and_who_goes_on_guessing_must_wait(server: Server, screen: OpenScreen) -> None:
    page = screen(server).open("/pair")
    type_code(page, "23456789")
    expect(page.get_by_role("alert")).to_contain_text("That code is not known")
    expect(page.get_by_role("alert")).to_contain_text("make a new one")
    type_code(page, "2345678")
    for _ in range(5):  # from the same address, and quicker than a finger on a slow machine
        httpx.post(server.address + "/pair", data={"code": "23456789"})
    type_code(page, "9")
    expect(page.get_by_role("alert")).to_contain_text("Wait")


def test_three_taps_of_a_revoked_tablet_are_held_taken_and_stored_once_in_order(
    server: Server, case: str, screen: OpenScreen, make_code: Callable[..., str]
) -> None:
    inside = screen(server, "inside")
    page = inside.open(f"/inside?case={case}")
    inside.context.route("**/api/entries", lambda route: route.abort())
    asked = []
    for nth in range(3):
        asked.append(ask(page, nth))
        expect(page.locator(".link-count")).to_have_text(str(nth + 1))
    desk = revoke(server, screen)
    expect(page).to_have_url(server.address + "/pair")
    expect(page.locator("main")).to_contain_text("ended this screen's pairing")
    inside.context.unroute("**/api/entries")
    page.reload()
    desk.evaluate("window.notReloaded = true")
    expect(desk.locator("#held input[type=checkbox]")).to_have_count(3)
    assert desk.evaluate("window.notReloaded") is True, "they appear by themselves"
    for item in asked:
        expect(desk.locator("#held")).to_contain_text(f"Asked for: {item}")
    assert server.entries(case, "req.new") == []
    desk.get_by_role("button", name=re.compile("Take all of")).click()
    expect(desk.locator("#held")).to_contain_text("None.")
    until(lambda: len(server.entries(case, "req.new")) == 3, "the taps in the record")
    type_code(page, make_code("inside", "Tablet 2"))
    expect(page).to_have_url(re.compile("/inside"))
    inside.open(f"/inside?case={case}")
    expect(page.locator(".link-waiting")).to_be_hidden()
    asked.append(ask(page, 3))
    until(lambda: len(server.entries(case, "req.new")) == 4, "a tap under the new pairing")
    taps = [entry.tap for entry in server.entries(case, "req.new")]
    assert [tap.body["item"] for tap in taps] == asked
    assert [tap.counter for tap in taps] == [1, 2, 3, 4]
    assert {tap.station for tap in taps} == {server.cookies["inside"].partition(".")[0]}


def test_a_case_opened_at_the_desk_opens_by_itself_on_the_screen_in_its_room(
    server: Server, make_code: Callable[..., str], screen: OpenScreen
) -> None:
    rooms.add(server.engine, Room(id="R4", name="Room 4", ach=12, clear=99))
    server.kill()
    server.start()
    tablet, door = screen(server), screen(server)
    for one, kind in ((tablet, "inside"), (door, "outside")):
        page = one.open("/pair")
        type_code(page, make_code(kind, f"{kind} of room 4", "room:R4"))
        expect(page).to_have_url(re.compile(f"/{kind}"))
    expect(tablet.page.locator("main")).to_contain_text("It opens here by itself")
    answer = server.client.post("/api/cases", json={"ref": "C7", "room": "R4"}, headers=server.proof("desk"))
    case = answer.json()["case"]
    server.say(case, ("case.open", {"ref": "C7", "procedure": "intubation", "precaution": "airborne", "age": "adult"}))
    expect(tablet.page.locator("#heading")).to_contain_text("Room 4")
    expect(door.page.locator("#rooms")).to_contain_text("Room 4")
    server.say(case, ("case.close", {}))
    expect(tablet.page.locator("main")).to_contain_text("It opens here by itself")
    expect(door.page.locator("#rooms")).not_to_contain_text("Room 4")


def test_a_revoked_board_goes_dark_at_once(server: Server, case: str, screen: OpenScreen) -> None:
    board = screen(server, "board").open("/board")
    stations.revoke(server.engine, server.cookies["board"].partition(".")[0], utc_now())
    expect(board).to_have_url(server.address + "/pair")


def test_the_desk_sees_what_a_tablet_says_of_itself(server: Server, case: str, screen: OpenScreen) -> None:
    screen(server, "inside").open(f"/inside?case={case}")
    desk = screen(server, "desk").open("/desk/stations")
    line = desk.locator("#station-list li", has_text="The inside")
    until(lambda: desk.reload() and "clock off by" in line.inner_text(), "a report")
    expect(line).to_contain_text("heard")
    expect(line).to_contain_text("battery")
