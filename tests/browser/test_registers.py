"""The registers in a browser: by touch and keyboard, and what they say reaches the case."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from app.base.time import utc_now
from app.drill.year import fill
from tests.browser.server import Server, until

pytestmark = pytest.mark.browser
PATH = "/desk/registers"


def enter(page: Page, address: str, register: str, **fields: str) -> None:
    """Fills the form of a new row as somebody would, and keeps it."""
    page.goto(f"{address}{PATH}/{register}/new")
    for name, value in fields.items():
        field = page.locator(f"[name='{name}']")
        if field.evaluate("field => field.tagName") == "SELECT":
            field.select_option(label=value)
        else:
            field.fill(value)
    page.get_by_role("button", name="Keep").click()
    expect(page.locator(".reg-table")).to_be_visible()


def row_id(page: Page, name: str) -> str:
    """The id of a row by its name in a list."""
    link = page.get_by_role("link", name=name, exact=True)
    return str(link.first.get_attribute("href")).rpartition("/")[2]


def opened(server: Server, **more: Any) -> str:
    """A case that a page shows already."""
    case = server.new_case()
    server.say(case, ("case.open", {"ref": "C1", "procedure": "intubation", "precaution": "airborne", **more}))
    return case


def test_a_fit_test_that_is_entered_ends_what_r05_says_of_the_next_case(server: Server, screen: Any) -> None:
    """R05, driven from the register: assigned without a test it is said; with one entered it is not said again."""
    desk = screen(server, "desk")
    page = desk.page
    enter(page, server.address, "respirators", model="K2")
    enter(page, server.address, "people", name="Ada Moor", initials="AM", job="consultant", resp="K2")
    ada = row_id(page, "Ada Moor")
    first = opened(server)
    page.goto(f"{server.address}/case/{first}")
    server.say(first, ("role.assign", {"AO": ada}), ("room.in", {"p": ada}))
    expect(page.locator("#record")).to_contain_text("R05")
    today = f"{utc_now():%Y-%m-%d}"
    enter(
        page, server.address, "fit-tests", person_id="Ada Moor", respirator_id="K2", tested_on=today,
        method="bitter aerosol", result="pass",
    )  # fmt: skip
    second = opened(server)
    page.goto(f"{server.address}/case/{second}")
    server.say(second, ("role.assign", {"AO": ada}), ("room.in", {"p": ada}), ("note", {"text": "went in"}))
    expect(page.locator("#record")).to_contain_text("went in")
    expect(page.locator("#record")).not_to_contain_text("R05")
    assert desk.wrong == []


def test_a_case_of_an_organism_asks_for_its_immunity_and_r07_answers_without_naming_it(
    server: Server, screen: Any
) -> None:
    """R07, driven from the registers of organisms and of immunity through the form that opens a case."""
    desk = screen(server, "desk")
    page = desk.page
    page.goto(f"{server.address}{PATH}/organisms")
    page.get_by_role("button", name="Begin with those").click()
    expect(page.get_by_role("link", name="Measles", exact=True)).to_be_visible()
    enter(page, server.address, "rooms", name="Room 9", clear="99.9")
    enter(page, server.address, "people", name="Ada Moor", initials="AM", job="consultant")
    ada = row_id(page, "Ada Moor")
    page.goto(f"{server.address}/desk")
    page.locator("[name=pathogen]").fill("Measles")
    expect(page.locator("[name=precaution][value=airborne]")).to_be_checked()
    for choice in ("Room 9", "intubation", "urgent", "adult"):
        page.locator("label.pick", has_text=choice).first.click()
    page.get_by_role("button", name="Open the case").click()
    page.wait_for_url("**/case/*")
    case = page.url.rpartition("/")[2]
    until(lambda: server.entries(case, "case.open"), "the opening of the case")
    assert server.entries(case, "case.open")[0].tap.body["immune_needed"] == "measles"
    server.say(case, ("role.assign", {"AO": ada}))
    expect(page.locator("#record")).to_contain_text("R07")
    assert server.entries(case, "role.assign")[0].facts["people"][ada]["immune"] == "unknown"
    assert desk.wrong == []


def test_a_kit_is_staged_for_a_case_in_one_tap_with_what_it_lacks(server: Server, screen: Any) -> None:
    """R10, driven from the register of kits: the tap carries what is missing and what is past its date."""
    desk = screen(server, "desk")
    page = desk.page
    enter(page, server.address, "kit-templates", name="Clean", tray="the clean tray")
    enter(page, server.address, "kit-items", template_id="Clean", code="suction", name="Sucker", mandatory="yes")
    enter(page, server.address, "kit-items", template_id="Clean", code="tube", name="Tube", mandatory="yes")
    enter(page, server.address, "kits", name="Trolley A", template_id="Clean", place="Store", seal="4471")
    past = f"{utc_now() - timedelta(days=2):%Y-%m-%d}"
    enter(page, server.address, "kit-contents", kit_id="Trolley A", code="tube", expires_on=past)
    case = opened(server)
    page.goto(f"{server.address}{PATH}/ready/kits")
    expect(page.locator(".ready-row")).to_contain_text("Lacking by its list: 2")
    page.get_by_text("Stage it for a case").click()
    page.locator(f'button[data-kind="kit.staged"][data-case="{case}"]').click()
    until(lambda: server.entries(case, "kit.staged"), "the staged tray in the journal")
    (entry,) = server.entries(case, "kit.staged")
    assert (entry.tap.body["missing"], entry.tap.body["expired"]) == (["suction"], ["tube"])
    server.say(case, ("room.in", {"p": "X1"}))
    page.goto(f"{server.address}/case/{case}")
    expect(page.locator("#record")).to_contain_text("suction")
    assert desk.wrong == []


def test_search_narrows_the_list_while_typing_and_enter_opens_a_row(server: Server, screen: Any) -> None:
    fill(server.engine, 7, utc_now())
    desk = screen(server, "desk")
    page = desk.page
    page.goto(f"{server.address}{PATH}/people")
    expect(page.locator("tbody tr")).to_have_count(50)
    page.get_by_label("Find").fill("kestrel")
    expect(page.locator("tbody tr").first).to_contain_text("Kestrel")
    expect(page.locator("tbody tr", has_not_text="Kestrel")).to_have_count(0)
    page.locator("tbody a").first.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Kestrel")
    assert desk.wrong == []


@pytest.mark.parametrize(
    "path", ["", "/people", "/ready/rooms", "/ready/kits", "/ready/stock", "/rooms/new", "/people/import"]
)
def test_no_page_of_a_full_register_scrolls_sideways_on_an_upright_tablet(
    server: Server, screen: Any, path: str
) -> None:
    fill(server.engine, 7, utc_now())
    desk = screen(server, "desk", viewport={"width": 800, "height": 1280})
    desk.page.goto(f"{server.address}{PATH}{path}")
    expect(desk.page.get_by_role("heading", level=1)).to_be_visible()
    assert desk.page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    assert desk.wrong == []


def test_a_file_is_tried_taken_over_and_taken_back_by_its_buttons(server: Server, screen: Any, tmp_path: Path) -> None:
    desk = screen(server, "desk")
    page = desk.page
    file = tmp_path / "staff.csv"
    file.write_text("name,initials,job\nCy Ott,CO,nurse\n", "utf-8")
    page.goto(f"{server.address}{PATH}/people/import")
    page.get_by_label("CSV file").set_input_files(file)
    page.get_by_role("button", name="Try it").click()
    expect(page.get_by_text("1 new, 0 changed, 0 as they are")).to_be_visible()
    page.get_by_role("button", name="Take it over").click()
    expect(page.get_by_role("link", name="Cy Ott")).to_be_visible()
    page.goto(f"{server.address}{PATH}/people/import")
    page.get_by_role("button", name="Take the whole file back").click()
    expect(page.get_by_text("taken back")).to_be_visible()
    page.goto(f"{server.address}{PATH}/people")
    expect(page.get_by_role("link", name="Cy Ott")).to_have_count(0)
    assert desk.wrong == []
