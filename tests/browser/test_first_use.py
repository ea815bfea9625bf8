"""A new department: from an empty database to its first live case, with the README's words only and no demo data."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from app.base.time import utc_now
from app.people.sign_in import store
from app.people.sign_in.pins import hashed
from tests.browser.server import CHARGE, Server, until

pytestmark = pytest.mark.browser
OpenScreen = Any
PIN = "274931"


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Server]:
    """`doorside serve` on a database that is not there yet."""
    server = Server(f"sqlite:///{tmp_path / 'new' / 'doorside.db'}", tmp_path)
    server.start()
    yield server
    server.stop()


def set_up(server: Server, page: Page) -> None:
    """What whoever started the server does with the link on their console."""
    (link,) = re.findall(r"\S+/setup#\S+", server.log)
    page.goto(link)
    assert "#" not in page.url, "the code does not stay in the address"
    page.get_by_label("Your name").fill("Una Quist")
    page.get_by_label("Your job").fill("charge anaesthetist")
    page.get_by_label("PIN", exact=True).fill(PIN)
    page.get_by_label("PIN once more").fill(PIN)
    page.get_by_role("button", name="Set up this desk").click()
    expect(page).to_have_url(server.address + "/desk")


def add_room(page: Page) -> None:
    page.get_by_role("link", name="Add the rooms").click()
    page.get_by_role("link", name=re.compile("^Add")).first.click()
    page.locator("input[name=name]").fill("Room 4")
    page.get_by_label("Measured air changes").fill("12")
    page.get_by_label("Measured on").fill("2026-11-02")
    page.get_by_role("button", name="Keep").click()
    expect(page.get_by_role("table")).to_contain_text("Room 4")


def pair_tablet(server: Server, desk: Page, tablet: Page) -> None:
    """A code made at the desk, typed on the tablet with its large keys."""
    desk.goto(server.address + "/desk")
    desk.get_by_role("link", name="Screens").click()
    desk.get_by_label("It stands").select_option("inside")
    desk.get_by_label("What people call it").fill("Tablet 1")
    desk.get_by_label("It shows").select_option(label="Room 4")
    desk.get_by_role("button", name="Make a code").click()
    code = re.sub(r"\W", "", desk.locator("#code .code").inner_text())
    tablet.goto(server.address)
    tablet.get_by_role("link", name="Pair this screen").click()
    tablet.wait_for_url("**/pair")  # and for its script: keys do nothing before
    for letter in code:
        tablet.locator(f'.key[data-key="{letter}"]').click()
    expect(tablet).to_have_url(server.address + "/inside")


def open_case(desk: Page, room: str | None = None) -> None:
    for choice in (*([room] if room else []), "intubation", "urgent", "airborne", "adult"):
        desk.locator("#new-case .pick", has_text=re.compile(rf"^\s*{choice}\b")).click()
    desk.get_by_role("button", name="Open the case").click()
    desk.wait_for_url(re.compile("/case/"))


def test_from_an_empty_database_to_a_first_live_case(empty: Server, screen: OpenScreen) -> None:
    desk, tablet = screen(empty), screen(empty, has_touch=True)
    set_up(empty, desk.page)
    add_room(desk.page)
    pair_tablet(empty, desk.page, tablet.page)
    expect(tablet.page.locator("#choose")).to_contain_text("It opens here by itself")

    desk.page.goto(empty.address + "/desk")
    open_case(desk.page, "Room 4")
    expect(tablet.page.locator("#heading")).to_contain_text("Room 4")

    case = desk.page.url.rpartition("/")[2]
    tablet.page.locator("#next button.tap").first.click()
    expect(tablet.page.locator("#undo")).to_be_visible()
    until(lambda: len(empty.entries(case)) == 2, "the tap in the journal", lambda: empty.log)
    opened, tapped = empty.entries(case)
    assert opened.tap.kind == "case.open"
    assert opened.tap.person is not None, "the record says who opened the case"
    assert opened.facts["room"]["ach"] == 12
    assert tapped.tap.person is None
    assert desk.wrong == tablet.wrong == []


def test_after_a_case_has_ended_the_screen_waits_for_the_next_one(empty: Server, screen: OpenScreen) -> None:
    desk, tablet = screen(empty), screen(empty)
    set_up(empty, desk.page)
    add_room(desk.page)
    pair_tablet(empty, desk.page, tablet.page)
    for _ in range(2):
        desk.page.goto(empty.address + "/desk")
        open_case(desk.page, "Room 4")
        expect(tablet.page.locator("#heading")).to_contain_text("Room 4")
        ending = desk.page.locator('#closing details:has([data-kind="case.close"])')
        ending.locator("summary").first.click()
        ending.locator('form[data-kind="case.close"] button[type=submit], button[data-kind="case.close"]').first.click()
        expect(tablet.page.locator("#choose")).to_be_visible()


def test_what_was_chosen_is_kept_while_the_server_is_away_and_while_somebody_signs_in(
    server: Server, screen: OpenScreen
) -> None:
    desk = screen(server, "desk")
    page = desk.open("/desk")
    page.context.set_offline(True)
    for choice in ("intubation", "urgent", "airborne", "child"):
        page.locator("#new-case .pick", has_text=re.compile(rf"^\s*{choice}\b")).click()
    page.get_by_role("button", name="Open the case").click()
    expect(page.locator(".error-offline")).to_be_visible()
    page.context.set_offline(False)
    page.context.clear_cookies(name="doorside_person")
    page.get_by_role("button", name="Open the case").click()
    page.locator(".error-sign-in a").click()
    expect(page).to_have_url(re.compile("/sign-in"))
    page.goto(server.address + "/desk")
    expect(page.locator('#new-case [name="age"][value="child"]')).to_be_checked()


def test_a_desk_that_nobody_touches_shows_itself_as_signed_out(server: Server, screen: OpenScreen) -> None:
    page = screen(server, "desk").page
    page.clock.install()
    page.goto(server.address + "/desk")
    expect(page.locator(".signed")).to_contain_text("Una Quist")
    server.sign_everybody_out()  # what ten minutes without a sign of life come to
    page.clock.run_for(9 * 60_000)
    page.locator("h1").first.click()  # somebody is there after all
    page.clock.run_for(9 * 60_000)
    expect(page.locator(".signed")).to_contain_text("Una Quist")
    page.clock.run_for(2 * 60_000)
    expect(page.locator(".signed")).to_contain_text("Nobody is signed in")


def test_signing_out_in_one_tab_shows_in_the_other(server: Server, screen: OpenScreen) -> None:
    one = screen(server, "desk")
    page, other = one.open("/desk"), one.context.new_page()
    other.goto(server.address + "/worksheet")
    expect(other.locator(".signed")).to_contain_text("Una Quist")
    page.get_by_role("button", name="Sign out").click()
    expect(other.locator(".signed")).to_contain_text("Nobody is signed in")


def test_a_tap_made_after_the_session_has_ended_is_kept_and_sent_after_signing_in(
    server: Server, case: str, screen: OpenScreen
) -> None:
    store.set_pin(server.engine, CHARGE, hashed(PIN), first=False, now=utc_now(), how="test")
    page = screen(server, "desk").open(f"/case/{case}")
    server.sign_everybody_out()
    ending = page.locator('#closing details:has([data-kind="case.abort"])')
    ending.locator("summary").first.click()
    ending.locator('form[data-kind="case.abort"] button[type=submit], button[data-kind="case.abort"]').first.click()
    page.locator("#sign-in-now a").click()
    page.get_by_label("Your name").select_option(CHARGE)
    page.get_by_label("PIN").fill(PIN)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(re.compile(f"/case/{case}"))
    until(lambda: server.entries(case, "case.abort"), "the kept tap", lambda: server.log)
    assert len(server.entries(case, "case.abort")) == 1
